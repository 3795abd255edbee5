import type { StartWorker } from "./worker-client.ts";

/** The first worker has more to load than the window: it begins before the window's own code does. */
let early: Worker | undefined = load();
// One that can't load is left to a second try, whose failure is then told.
early.onerror = () => {
  early = undefined;
};

/** Starts the worker that computes. */
export const startWorker: StartWorker = ({ onMessage, onDeath }) => {
  const worker = early ?? load();
  early = undefined;
  worker.onmessage = ({ data }) => onMessage(data);
  worker.onerror = (event) => onDeath(event.message || "no reason given");
  worker.onmessageerror = () => onDeath("an answer could not be read");
  return worker;
};

function load(): Worker {
  // Vite finds the worker's file by this very expression.
  return new Worker(new URL("./worker.ts", import.meta.url), { type: "module", name: "halation" });
}

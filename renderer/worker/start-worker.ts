import type { StartWorker } from "./worker-client.ts";

/** Starts the worker that computes. Vite finds its file by this very expression. */
export const startWorker: StartWorker = ({ onMessage, onDeath }) => {
  const worker = new Worker(new URL("./worker.ts", import.meta.url), { type: "module", name: "halation" });
  worker.onmessage = ({ data }) => onMessage(data);
  worker.onerror = (event) => onDeath(event.message || "no reason given");
  worker.onmessageerror = () => onDeath("an answer could not be read");
  return worker;
};

// The thread that calls the HDF5 library for hdf5-guard.ts, which ends it when a damaged file holds it up.
import { workerData } from "node:worker_threads";
import type { Hdf5File } from "../../core/formats/hdf5/hdf5-file.ts";
import { type Result, success } from "../../core/model/result.ts";
import type { Hdf5Answer, Hdf5Answers, Hdf5Call, Hdf5ThreadData } from "./hdf5-calls.ts";
import { openPlaced } from "./open-hdf5.ts";
import { threadNumber } from "./thread-time.ts";

const { port, shared } = workerData as Hdf5ThreadData;
const files = new Map<number, Hdf5File>();
let opened = 0;

Atomics.store(shared, 1, threadNumber());
port.on("message", (call: Hdf5Call) => void answer(call));
// Wakes whoever waits for an answer that won't come.
process.on("exit", () => tell());

async function answer(call: Hdf5Call): Promise<void> {
  let answered: Hdf5Answer;
  try {
    const result = await work(call);
    answered = { result, notes: "file" in call ? (files.get(call.file)?.notes ?? []) : [] };
  } catch (error) {
    const bug = error instanceof Error ? (error.stack ?? error.message) : String(error);
    answered = { result: success(undefined), notes: [], bug };
  }
  const { result } = answered;
  const pixels = result.ok && ArrayBuffer.isView(result.value) ? [result.value.buffer as ArrayBuffer] : [];
  port.postMessage(answered, pixels);
  tell();
}

function tell(): void {
  Atomics.add(shared, 0, 1);
  Atomics.notify(shared, 0);
}

async function work(call: Hdf5Call): Promise<Result<Hdf5Answers[keyof Hdf5Answers]>> {
  if (call.kind === "open") {
    const file = await openPlaced(call);
    if (!file.ok) return file;
    files.set(++opened, file.value);
    return success(opened);
  }
  const file = files.get(call.file);
  if (file === undefined) throw new RangeError(`no open file has the number ${call.file}`);
  switch (call.kind) {
    case "node":
      return file.node(call.path);
    case "prepare":
      return file.prepare(call.path);
    case "readText":
      return file.readText(call.path);
    case "read":
      return file.read(call.path, call.slice);
    case "close":
      files.delete(call.file);
      file.close();
      return success(undefined);
  }
}

import { readFile } from "node:fs/promises";
import { resolve } from "node:path";
import { failure, type Result, success } from "../../core/model/result.ts";
import { findJsonProblem } from "../../core/plan/json-position.ts";
import { jsonBytes } from "../../core/report/json.ts";
import { checkScene, type Scene } from "../../core/simulate/scene.ts";
import { simulateScene } from "../../core/simulate/simulate.ts";
import { ioFault } from "../services/io-fault.ts";
import { checkOutputFolder, writeOutputFolder } from "../services/output-folder.ts";
import { writeHdf5 } from "../services/write-hdf5.ts";
import type { Command } from "./command.ts";

/** The generator takes whole numbers from 1 to 2^32 - 1. */
const LARGEST_SEED = 2 ** 32 - 1;

export const simulate: Command = {
  name: "simulate",
  summary: "take the runs of a scene with known truth",
  arguments: ["SCENE"],
  required: ["out"],
  options: {
    out: { type: "string", placeholder: "DIR", help: "where the runs and truth.json go" },
    seed: { type: "string", placeholder: "N", help: "the same number gives the same frames (1)" },
    force: { type: "boolean", help: "write into a folder that holds other files; they stay" },
  },
  details: "SCENE is a JSON file that says what stands in the beam and which runs are taken.",
  async run({ given, signal, onProgress }) {
    const [file = ""] = given.positionals;
    const out = resolve(given.values.get("out") ?? "");
    const force = given.flags.has("force");
    const seedText = given.values.get("seed") ?? "1";
    const seed = /^\d+$/.test(seedText) ? Number(seedText) : Number.NaN;
    if (!(seed >= 1 && seed <= LARGEST_SEED))
      return failure("out-of-range", `--seed must be a whole number from 1 to ${LARGEST_SEED}; found "${seedText}"`, {
        field: "--seed",
      });
    const scene = await readScene(file);
    if (!scene.ok) return scene;
    const free = await checkOutputFolder(out, force);
    if (!free.ok) return free;
    const taken = simulateScene(scene.value, seed, (done, all) => {
      signal.throwIfAborted();
      onProgress(done / all, `run ${done} of ${all}`);
    });
    const files = [{ path: "truth.json", bytes: jsonBytes(taken.truth) }];
    for (const { name, tree } of taken.files) files.push({ path: name, bytes: await writeHdf5(tree) });
    signal.throwIfAborted();
    const written = await writeOutputFolder(out, files, force);
    if (!written.ok) return written;
    const runs = taken.files.map(({ name, counts, monitorCounts }) => ({
      file: name,
      counts: counts.reduce((sum, count) => sum + count, 0),
      monitorCounts,
    }));
    return success({
      json: { scene: scene.value.title, seed, out, runs },
      text: `${runs.length} runs and truth.json in ${out}`,
    });
  },
};

async function readScene(file: string): Promise<Result<Scene>> {
  let text: string;
  try {
    text = await readFile(file, "utf8");
  } catch (error) {
    return ioFault("read", file, error);
  }
  const problem = findJsonProblem(text);
  if (problem !== undefined)
    return failure("unreadable", `line ${problem.line}, column ${problem.column} is not JSON: ${problem.what}`, {
      file,
    });
  return checkScene(JSON.parse(text), file);
}

import { readdir, stat } from "node:fs/promises";
import { extname, join, resolve } from "node:path";
import { type Result, success } from "../../core/model/result.ts";
import { ioFault } from "./io-fault.ts";
import { looksLikePlan } from "./looks-like-plan.ts";
import type { Shell } from "./shell.ts";

/** Kinds of files that the sample experiment is made of, besides its plans. */
const RUN_EXTENSIONS = [".h5", ".hdf", ".hdf5", ".nxs", ".npy", ".tif", ".tiff"];

/** The plan of the sample experiment that the window begins with: the plainest of them. */
const FIRST_PLAN = "spheres.plan.json";

/** What the window opens first: the named files, or the plans and runs of the sample experiment. */
export async function launchFiles(named: readonly string[], samples: string): Promise<Result<Shell["launch"]>> {
  if (named.length === 0) return success({ files: await sampleFiles(samples), isSampleExperiment: true });
  const files = named.map((file) => resolve(file));
  for (const file of files) {
    try {
      await stat(file);
    } catch (error) {
      return ioFault("read", file, error);
    }
  }
  return success({ files, isSampleExperiment: false });
}

async function sampleFiles(samples: string): Promise<readonly string[]> {
  const names = (await readdir(samples)).sort((a, b) => rank(a) - rank(b) || (a < b ? -1 : 1));
  const plans: string[] = [];
  const runs: string[] = [];
  for (const name of names) {
    const path = join(samples, name);
    if (RUN_EXTENSIONS.includes(extname(name).toLowerCase())) runs.push(path);
    else if (await looksLikePlan(path)) plans.push(path);
  }
  return [...plans, ...runs];
}

function rank(name: string): number {
  return name === FIRST_PLAN ? 0 : 1;
}

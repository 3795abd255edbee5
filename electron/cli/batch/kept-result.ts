import { readFile } from "node:fs/promises";
import { basename, join } from "node:path";
import { openCurves } from "../../../core/formats/curves/open-curves.ts";
import type { OverviewCurve } from "../../../core/report/overview.ts";
import { hasErrorCode } from "../../services/io-fault.ts";
import { openHdf5 } from "../../services/open-hdf5.ts";
import { inspectFolder } from "../../services/output-folder.ts";
import { pathSource } from "../../services/path-source.ts";
import type { SampleResult } from "./sample-reducer.ts";

const CURVE_ENDINGS = ["csv", "txt", "xml", "h5"];

/** An earlier result, where it is whole and was made from the same; otherwise undefined, and it is made anew. */
export async function keptResult(
  folder: string,
  madeFrom: string,
  signal: AbortSignal,
): Promise<SampleResult | undefined> {
  const state = await inspectFolder(folder);
  if (!state.ok || state.value.kind !== "ours" || !state.value.isWhole) return undefined;
  if (state.value.madeFrom !== madeFrom) return undefined;
  const summary = await readSummary(folder);
  if (summary === undefined) return undefined;
  const curve = await firstCurve(folder, summary, state.value.files, signal);
  return { summary, text: `${basename(folder)}: kept as it was in ${folder}`, ...(curve && { curve }) };
}

/** Undefined where somebody changed the file since: it is made anew. */
async function readSummary(folder: string): Promise<Summary | undefined> {
  try {
    const summary = JSON.parse(await readFile(join(folder, "summary.json"), "utf8")) as Partial<Summary> | null;
    return Array.isArray(summary?.averages) ? (summary as Summary) : undefined;
  } catch (error) {
    if (error instanceof SyntaxError || hasErrorCode(error)) return undefined;
    throw error;
  }
}

interface Summary extends Readonly<Record<string, unknown>> {
  readonly averages: readonly { readonly id: string; readonly kind: string }[];
  readonly intensityUnit: unknown;
}

/** From the first of its files that holds it; without any the overview has no curve of this sample. */
async function firstCurve(
  folder: string,
  { averages, intensityUnit }: Summary,
  files: readonly string[],
  signal: AbortSignal,
): Promise<OverviewCurve | undefined> {
  const first = averages.find(({ kind }) => kind !== "annulus");
  if (first === undefined) return undefined;
  const name = CURVE_ENDINGS.map((ending) => `curves/${first.id}.${ending}`).find((file) => files.includes(file));
  if (name === undefined) return undefined;
  const loaded = await openCurves(await pathSource(join(folder, name)), { signal, openHdf5 });
  if (!loaded.ok) return undefined;
  const [curve] = loaded.value;
  if (curve?.sigma === undefined) return undefined;
  const { q, intensity, sigma } = curve;
  return { id: first.id, unit: String(intensityUnit), q, intensity, sigma };
}

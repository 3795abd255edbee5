import type { RunReference } from "../../core/plan/plan.ts";
import type { DocumentTree } from "../state/document-store.ts";
import { referencePath, runsOf, samplesOf } from "../state/plan-reading.ts";
import type { RunState } from "../state/results-store.ts";

/** The frame that stands beside the one on show: a run of the document, and one of its frames. */
export interface SecondChoice {
  readonly path: string;
  /** Undefined: as the plan reads the run. */
  readonly frame: number | undefined;
}

type Runs = Readonly<Record<string, RunState>>;

/** How a plan would refer to it: with the row order and dataset that the plan has for this run. */
export function secondReference({ plan }: DocumentTree, { path, frame }: SecondChoice): RunReference {
  const known = runsOf(plan).find(({ reference }) => referencePath(reference) === path)?.reference ?? path;
  if (frame === undefined) return known;
  return typeof known === "string" ? { file: known, frame } : { ...known, frame };
}

/** Runs that may stand there: all but the mask. */
export function secondPaths({ plan, files }: DocumentTree): readonly string[] {
  return Object.keys(files).filter((path) => path !== plan.mask?.file);
}

/** How many frames a run holds, as far as is known. */
export function framesIn(path: string, runs: Runs): number {
  const state = runs[path];
  return state?.status === "ready" ? (state.run.banks[0]?.frames ?? 1) : 1;
}

/** What a person most likely wants to see beside: the next frame of the stack, the next sample, or another run. */
export function likelySecond(
  tree: DocumentTree,
  shown: { readonly sampleIndex: number; readonly stackFrame: number | undefined },
  runs: Runs,
): SecondChoice | undefined {
  const samples = samplesOf(tree.plan).map(referencePath);
  const path = samples[shown.sampleIndex];
  if (path === undefined) return undefined;
  const frames = framesIn(path, runs);
  if (frames > 1) return { path, frame: Math.min(frames - 1, (shown.stackFrame ?? -1) + 1) };
  const next = samples.length > 1 ? samples[(shown.sampleIndex + 1) % samples.length] : undefined;
  const other = next ?? secondPaths(tree).find((entry) => entry !== path);
  return other === undefined ? undefined : { path: other, frame: undefined };
}

import type { Plan, RunReference } from "../../core/plan/plan.ts";
import { referencePath, samplesOf } from "../state/plan-reading.ts";
import type { RunState } from "../state/results-store.ts";

/** What is leafed through: the samples of the plan, or the frames of the stack that the shown sample is. */
export const FLIP_AXES = ["frames", "runs"] as const;
export type FlipAxis = (typeof FLIP_AXES)[number];

/** Which sample is shown, and which frame of its stack; undefined: as the plan has it. */
export interface FlipPlace {
  readonly sampleIndex: number;
  readonly stackFrame: number | undefined;
}

/** A row of places that one leafs through. */
export interface FlipRow {
  readonly axis: FlipAxis;
  readonly count: number;
  /** Where we are: 0 to count - 1; -1 on the whole stack, before its first frame. */
  readonly at: number;
}

/** Nothing where there is only one place. */
export function flipRow(
  axis: FlipAxis,
  plan: Plan,
  place: FlipPlace,
  runs: Readonly<Record<string, RunState>>,
): FlipRow | undefined {
  const samples = samplesOf(plan);
  if (axis === "runs") return samples.length < 2 ? undefined : { axis, count: samples.length, at: place.sampleIndex };
  const count = framesOf(samples[place.sampleIndex], runs);
  if (count < 2) return undefined;
  return { axis, count, at: place.stackFrame ?? chosenFrame(samples[place.sampleIndex]) ?? -1 };
}

/** The place `index` of a row; another run begins as the plan has it. Beyond the ends: the end. */
export function placeOf(row: FlipRow, index: number, from: FlipPlace): FlipPlace {
  const first = row.axis === "frames" ? -1 : 0;
  const at = Math.min(row.count - 1, Math.max(first, index));
  if (row.axis === "runs") return at === from.sampleIndex ? from : { sampleIndex: at, stackFrame: undefined };
  return { ...from, stackFrame: at < 0 ? undefined : at };
}

/** The sample of a place as a plan refers to it. */
export function referenceAt(plan: Plan, { sampleIndex, stackFrame }: FlipPlace): RunReference | undefined {
  const reference = samplesOf(plan)[sampleIndex];
  return reference === undefined || stackFrame === undefined ? reference : frameOf(reference, stackFrame);
}

/** The plan's runs with one frame of a stack in the place of a sample. */
export function runsAt(runs: Plan["runs"], sampleIndex: number, stackFrame: number): Plan["runs"] {
  const { sample } = runs;
  const renewed = (reference: RunReference, i: number) =>
    i === sampleIndex ? frameOf(reference, stackFrame) : reference;
  return { ...runs, sample: isList(sample) ? sample.map(renewed) : renewed(sample, 0) };
}

export function isSamePlace(a: FlipPlace, b: FlipPlace): boolean {
  return a.sampleIndex === b.sampleIndex && a.stackFrame === b.stackFrame;
}

function isList(value: Plan["runs"]["sample"]): value is readonly RunReference[] {
  return Array.isArray(value);
}

function frameOf(reference: RunReference, frame: number): RunReference {
  return typeof reference === "string" ? { file: reference, frame } : { ...reference, frame };
}

function framesOf(reference: RunReference | undefined, runs: Readonly<Record<string, RunState>>): number {
  const state = reference === undefined ? undefined : runs[referencePath(reference)];
  return state?.status === "ready" ? (state.run.banks[0]?.frames ?? 1) : 1;
}

function chosenFrame(reference: RunReference | undefined): number | undefined {
  return typeof reference === "object" && typeof reference.frame === "number" ? reference.frame : undefined;
}

import type { RunMetadata } from "../../model/metadata.ts";
import { scaleExactly, unitFactor } from "../units.ts";

/** A curve that was read from a file, as it stands there. */
export interface LoadedCurve {
  /** What the file calls it, else the file's name. */
  readonly name: string;
  readonly title: string;
  readonly file: string;
  /** Where it stands in the file. */
  readonly path: string;
  /** In `qUnit`; in the order of the file, which need not increase. */
  readonly q: Float64Array;
  readonly intensity: Float64Array;
  /** One standard deviation; NaN where the file gives none for a point. */
  readonly sigma?: Float64Array;
  /** One standard deviation of Q. */
  readonly qSigma?: Float64Array;
  /** "1/angstrom", to which all known units are converted; "unknown" where the file gives none and the numbers don't tell. */
  readonly qUnit: "1/angstrom" | "unknown";
  /** As written; intensities are never converted. */
  readonly unit: string;
  /** Columns that are neither of these, by name. */
  readonly extra: Readonly<Record<string, Float64Array>>;
  readonly metadata: RunMetadata;
  readonly notes: readonly string[];
}

export interface CurveParts {
  readonly name: string;
  readonly title: string;
  readonly file: string;
  readonly path: string;
  readonly q: readonly number[] | Float64Array;
  readonly intensity: readonly number[] | Float64Array;
  readonly sigma?: readonly number[] | Float64Array | undefined;
  readonly qSigma?: readonly number[] | Float64Array | undefined;
  /** As written; "" for none. */
  readonly qUnit: string;
  readonly unit: string;
  readonly extra?: Readonly<Record<string, Float64Array>>;
  readonly metadata?: RunMetadata;
  readonly notes?: readonly string[];
}

/** Without a unit, Q up to here is taken to be in 1/angstrom: beyond it no small angle is left. */
const LARGEST_BARE_Q = 2;

/**
 * Puts a curve together: Q in 1/angstrom, points without a number left out, deviations that are all zero taken as not
 * given, and what is odd about it in its notes.
 */
export function makeCurve(parts: CurveParts): LoadedCurve {
  const notes = [...(parts.notes ?? [])];
  const kept = keptPoints(parts);
  if (kept.length < parts.q.length)
    notes.push(`${parts.q.length - kept.length} points without a finite Q and intensity are left out`);
  const pick = (values: readonly number[] | Float64Array): Float64Array =>
    Float64Array.from(kept, (i) => values[i] ?? Number.NaN);
  const bare = pick(parts.q);
  const factor = qFactor(parts.qUnit, bare, notes);
  const q = factor === undefined ? bare : bare.map((value) => scaleExactly(value, factor));
  const sigma = deviations(parts.sigma === undefined ? undefined : pick(parts.sigma), "intensity", notes);
  const qSigma = deviations(parts.qSigma === undefined ? undefined : pick(parts.qSigma), "Q", notes);
  noteOrder(q, notes);
  return {
    name: parts.name,
    title: parts.title,
    file: parts.file,
    path: parts.path,
    q,
    intensity: pick(parts.intensity),
    ...(sigma !== undefined && { sigma }),
    ...(qSigma !== undefined && {
      qSigma: factor === undefined ? qSigma : qSigma.map((value) => scaleExactly(value, factor)),
    }),
    qUnit: factor === undefined ? "unknown" : "1/angstrom",
    unit: parts.unit,
    extra: Object.fromEntries(Object.entries(parts.extra ?? {}).map(([name, values]) => [name, pick(values)])),
    metadata: parts.metadata ?? {},
    notes,
  };
}

function keptPoints({ q, intensity }: CurveParts): number[] {
  const kept: number[] = [];
  for (let i = 0; i < q.length; i++) if (Number.isFinite(q[i]) && Number.isFinite(intensity[i])) kept.push(i);
  return kept;
}

function qFactor(unit: string, q: Float64Array, notes: string[]): number | undefined {
  if (unit !== "") {
    const factor = unitFactor("inverseLength", unit);
    if (factor === undefined) notes.push(`Q has the unit "${unit}", which is not an inverse length`);
    else if (factor !== 1) notes.push(`Q converted from ${unit} to 1/angstrom`);
    return factor;
  }
  if (q.every((value) => value < LARGEST_BARE_Q)) {
    notes.push("Q has no unit: taken as 1/angstrom, since all values are below 2");
    return 1;
  }
  notes.push("Q has no unit, and its values are too large for 1/angstrom: say which unit it has");
  return undefined;
}

function deviations(values: Float64Array | undefined, what: string, notes: string[]): Float64Array | undefined {
  if (values === undefined || values.every(Number.isNaN)) return undefined;
  if (values.every((value) => value === 0)) {
    notes.push(`all deviations of ${what} are 0: taken as not given`);
    return undefined;
  }
  return values;
}

function noteOrder(q: Float64Array, notes: string[]): void {
  for (let i = 1; i < q.length; i++) {
    if (q[i]! > q[i - 1]!) continue;
    notes.push(q[i] === q[i - 1] ? `Q = ${q[i]} is repeated at point ${i}` : `Q does not increase at point ${i}`);
    return;
  }
}

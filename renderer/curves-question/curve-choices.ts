import type { CurvePoints } from "../../core/curves/curve-points.ts";
import type { Curve } from "../../core/model/curve.ts";
import { besideKey, isBeside } from "../state/beside-curve.ts";
import type { PlottedCurve } from "../view-types.ts";
import type { ReductionView } from "../worker/protocol.ts";
import type { CurvesState } from "./curves-store.ts";

/** A curve that a tool can take. */
export interface ChosenCurve {
  readonly key: string;
  readonly label: string;
  readonly unit: string;
  readonly points: CurvePoints;
  /** File that it comes from, for the record. */
  readonly file: string;
  readonly sha256: string;
}

/** Our own curves, then those of files. */
export function curveChoices(
  reduction: ReductionView | undefined,
  { loaded }: Pick<CurvesState, "loaded">,
): readonly ChosenCurve[] {
  const own = (reduction?.curves ?? [])
    .filter(({ q }) => q.length > 0)
    .map((curve) => ({
      key: curve.id,
      label: curve.id,
      unit: curve.unit,
      points: curve,
      file: reduction?.sampleFile ?? "",
      sha256: reduction?.ledger.inputs.find(({ role }) => role === "sample")?.sha256 ?? "",
    }));
  return [
    ...own,
    ...loaded.map(({ key, label, file, unit, points, sha256 }) => ({ key, label, unit, points, file, sha256 })),
  ];
}

/** The two curves that tools take: those picked, else the first of our own and the first beside it. */
export function chosenPair(
  choices: readonly ChosenCurve[],
  { one, other }: Pick<CurvesState, "one" | "other">,
): { readonly one: ChosenCurve | undefined; readonly other: ChosenCurve | undefined } {
  const first = choices.find(({ key }) => key === one) ?? choices[0];
  const rest = choices.filter((choice) => choice !== first);
  const second = rest.find(({ key }) => key === other) ?? rest.find(({ key }) => isBeside(key)) ?? rest[0];
  return { one: first, other: second };
}

/** The curves that are merged onto the first: those picked that are still there, else the one other. */
export function chosenMerged(
  choices: readonly ChosenCurve[],
  state: Pick<CurvesState, "one" | "other" | "merged">,
): readonly ChosenCurve[] {
  const { one, other } = chosenPair(choices, state);
  const picked = choices.filter((choice) => choice !== one && state.merged?.includes(choice.key));
  return picked.length > 0 || other === undefined ? picked : [other];
}

/** What is drawn beside our own curves: files, what was made of them, the fitted line and the model. */
export function besideCurves(state: CurvesState, unit: string, from: number): readonly PlottedCurve[] {
  const { loaded, made, fit, modelCurve } = state;
  const drawn: PlottedCurve[] = loaded.flatMap(({ key, label, points, unit: own, shown, colour }) =>
    shown ? [{ key, label, data: asCurve(key, own, points), colourIndex: from + colour }] : [],
  );
  const next = from + 1 + Math.max(-1, ...loaded.map(({ colour }) => colour));
  const line = (name: string, q: Float64Array, intensity: Float64Array, place: number): PlottedCurve => ({
    key: besideKey(name, 0),
    label: name,
    data: asCurve(name, unit, { q, intensity }),
    colourIndex: next + place,
    line: true,
  });
  if (made !== undefined)
    drawn.push({
      key: besideKey("made", 0),
      label: made.curve.title,
      data: asCurve("made", made.curve.unit, made.curve),
      colourIndex: next,
    });
  if (fit !== undefined) drawn.push(line("fit", fit.q, fit.fitted, 1));
  if (modelCurve !== undefined) drawn.push(line("model", modelCurve.q, modelCurve.intensity, 2));
  return drawn;
}

function asCurve(id: string, unit: string, { q, intensity, sigma, qSigma }: CurvePoints): Curve {
  const unknown = new Float64Array(q.length).fill(Number.NaN);
  return {
    ...{ kind: "radial", id, unit, q, intensity, sigma: sigma ?? unknown, pixels: unknown, counts: unknown },
    ...{ norm: unknown, scatterSigma: unknown, chi2: unknown, zeroCounts: new Uint8Array(q.length) },
    bin: Int32Array.from(q, (_, i) => i),
    ...(qSigma && { qSigma }),
  };
}

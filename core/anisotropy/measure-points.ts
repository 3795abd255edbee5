import type { AnisotropyMeasures } from "./measures.ts";
import { PROOF } from "./proof.ts";

const DEGREE = Math.PI / 180;

export interface MeasurePoint {
  readonly x: number;
  readonly y: number;
  readonly sigma: number;
}

type Measured = Pick<AnisotropyMeasures, "alignment" | "alignmentSigma" | "axis" | "axisSigma" | "pIsotropic">;

/**
 * Alignment factor and axis (degrees) against anything: Q, shear rate. Axes stand only where the annulus is proved
 * anisotropic, and all within a quarter turn of the surest of them, since an axis wraps at 180 degrees.
 */
export function measurePoints(rows: readonly { readonly x: number; readonly measures: Measured | undefined }[]): {
  readonly alignment: readonly MeasurePoint[];
  readonly axis: readonly MeasurePoint[];
} {
  const measured = rows.flatMap(({ x, measures }) => (measures === undefined ? [] : [{ x, measures }]));
  const proved = measured.filter(({ measures }) => measures.pIsotropic < PROOF);
  let surest: Measured | undefined;
  for (const { measures } of proved)
    if (surest === undefined || measures.axisSigma < surest.axisSigma) surest = measures;
  const around = (surest?.axis ?? 0) / DEGREE;
  const near = (axis: number) => around + ((((axis / DEGREE - around + 90) % 180) + 180) % 180) - 90;
  return {
    alignment: measured.map(({ x, measures: { alignment, alignmentSigma } }) => ({
      x,
      y: alignment,
      sigma: alignmentSigma,
    })),
    axis: proved.map(({ x, measures: { axis, axisSigma } }) => ({ x, y: near(axis), sigma: axisSigma / DEGREE })),
  };
}

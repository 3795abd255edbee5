import type { BinnedColumns, Curve, Profile } from "../../../../core/model/curve.ts";

function columns(intensity: readonly number[], sigma: readonly number[]): BinnedColumns {
  const n = intensity.length;
  return {
    intensity: Float64Array.from(intensity),
    sigma: Float64Array.from(sigma),
    pixels: new Float64Array(n).fill(10),
    counts: new Float64Array(n).fill(100),
    norm: new Float64Array(n).fill(1),
    scatterSigma: Float64Array.from(sigma),
    chi2: new Float64Array(n).fill(1),
    zeroCounts: new Uint8Array(n),
    bin: Int32Array.from({ length: n }, (_, i) => i),
  };
}

/** A curve of the given points; everything else is filler. */
export function curveOf(q: readonly number[], intensity: readonly number[], sigma: readonly number[]): Curve {
  return { kind: "radial", id: "radial", unit: "1/cm", q: Float64Array.from(q), ...columns(intensity, sigma) };
}

/** A profile of the given points; phi in rad. */
export function profileOf(phi: readonly number[], intensity: readonly number[], sigma: readonly number[]): Profile {
  const [qMin, qMax] = [0.02, 0.03];
  return {
    kind: "annulus",
    id: "ring",
    unit: "1/cm",
    phi: Float64Array.from(phi),
    qMin,
    qMax,
    ...columns(intensity, sigma),
  };
}

import type { Curve, Profile } from "../model/curve.ts";
import { azimuthDegrees } from "../model/numbers.ts";

/** One column of an average as files show it. */
export interface AverageColumn {
  readonly name: string;
  readonly unit: string;
  readonly meaning: string;
  /** Undefined: not known for this average. One entry a bin. */
  readonly values: Float64Array | undefined;
}

export function isProfile(average: Curve | Profile): average is Profile {
  return average.kind === "annulus";
}

/**
 * The columns of an average in file units, in the order of every table that is written: Q in 1/angstrom, phi in degrees.
 * `dI` is the counting uncertainty.
 */
export function averageColumns(average: Curve | Profile): readonly AverageColumn[] {
  const intensity: AverageColumn = {
    name: "I",
    unit: average.unit,
    meaning: "intensity, sum of signal over sum of norm in the bin",
    values: average.intensity,
  };
  const sigma: AverageColumn = {
    name: "dI",
    unit: average.unit,
    meaning: "standard deviation of I from counting",
    values: average.sigma,
  };
  const pixels: AverageColumn = { name: "pixels", unit: "", meaning: "pixels in the bin", values: average.pixels };
  const counts: AverageColumn = {
    name: "counts",
    unit: "",
    meaning: "registered counts of the sample frame in the bin",
    values: average.counts,
  };
  if (isProfile(average)) {
    const phi: AverageColumn = {
      name: "phi",
      unit: "degree",
      meaning: "azimuth of the middle of the bin, anticlockwise from +x",
      values: average.phi.map(azimuthDegrees),
    };
    return [phi, intensity, sigma, pixels, counts];
  }
  const q: AverageColumn = { name: "Q", unit: "1/angstrom", meaning: Q_MEANING[average.kind], values: average.q };
  const qSigma: AverageColumn = {
    name: "dQ",
    unit: "1/angstrom",
    meaning: "resolution, standard deviation of Q",
    values: average.qSigma,
  };
  return [q, intensity, sigma, qSigma, pixels, counts];
}

const Q_MEANING: Readonly<Record<Curve["kind"], string>> = {
  radial: "magnitude of the scattering vector",
  sector: "magnitude of the scattering vector",
  box: "scattering vector along the box",
};

/** True where every point has a resolution, so that formats which want all or none can have it. */
export function hasResolution(curve: Curve): curve is Curve & { readonly qSigma: Float64Array } {
  return curve.qSigma !== undefined && curve.qSigma.length > 0 && curve.qSigma.every((s) => Number.isFinite(s));
}

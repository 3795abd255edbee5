import type { Estimate } from "../model/estimate.ts";
import type { Geometry } from "../model/geometry.ts";
import { exp, ln } from "../model/steady-math.ts";
import { type AnisotropyMeasures, measureAnisotropy } from "./measures.ts";
import { ringPixels } from "./ring-pixels.ts";

export interface Annulus {
  readonly id: string;
  /** 1/angstrom */
  readonly qMin: number;
  readonly qMax: number;
}

export interface AnnulusAnisotropy extends Annulus {
  /** Undefined: too few unmasked pixels or angles to tell. */
  readonly measures: AnisotropyMeasures | undefined;
}

export interface AnisotropyReport {
  readonly annuli: readonly AnnulusAnisotropy[];
  /** The same in narrow annuli from the smallest to the largest unmasked Q. */
  readonly spectrum: readonly AnnulusAnisotropy[];
}

/** What is analysed: a reduced frame and its maps (Q in 1/angstrom, phi in rad). */
export interface AnisotropyGround {
  readonly estimate: Estimate;
  readonly geometry: Geometry;
  readonly maps: { readonly q: Float64Array; readonly phi: Float64Array };
}

const SPECTRUM_ANNULI = 24;

/** Measures in the given annuli and in a spectrum of `count` annuli, equally wide in ln Q. */
export function analyseAnisotropy(
  ground: AnisotropyGround,
  annuli: readonly Annulus[],
  count = SPECTRUM_ANNULI,
): AnisotropyReport {
  const measure = (annulus: Annulus): AnnulusAnisotropy => ({
    ...annulus,
    measures: measureAnisotropy(ringPixels(ground.estimate, ground.maps, annulus, qStepOfPixel(ground.geometry))),
  });
  return { annuli: annuli.map(measure), spectrum: spectrumAnnuli(ground, count).map(measure) };
}

function spectrumAnnuli({ estimate, geometry, maps }: AnisotropyGround, count: number): Annulus[] {
  let [low, high] = [Number.POSITIVE_INFINITY, 0];
  for (let p = 0; p < maps.q.length; p++) {
    const q = maps.q[p]!;
    if (estimate.mask[p] !== 0 || !(q > 0)) continue;
    low = Math.min(low, q);
    high = Math.max(high, q);
  }
  if (!(high > low)) return [];
  // An annulus narrower than a pixel holds too few of them: the innermost edges are a pixel apart at least.
  const step = qStepOfPixel(geometry);
  const edges = [low];
  for (let k = 1; k <= count; k++) {
    const edge = k === count ? high : low * exp((k / count) * ln(high / low));
    if (edge - edges[edges.length - 1]! >= step) edges.push(edge);
  }
  return edges.slice(1).map((qMax, k) => ({ id: `spectrum-${k + 1}`, qMin: edges[k]!, qMax }));
}

/** Q from one pixel to the next near the beam, 1/angstrom. */
export function qStepOfPixel({ pixelSizeX, pixelSizeY, distance, wavelength }: Geometry): number {
  return (2 * Math.PI * Math.min(pixelSizeX, pixelSizeY)) / (distance * wavelength);
}

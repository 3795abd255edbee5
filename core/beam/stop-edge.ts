import erf from "@stdlib/math-base-special-erf";
import { exp } from "../model/steady-math.ts";

/**
 * How much of a pixel lies in the shadow of a straight edge that is blurred by a Gaussian penumbra, and how that
 * changes. Filled by `blurredEdge`, so that nothing is allocated per pixel.
 */
export interface EdgeValues {
  /** Shadowed fraction, 0..1. */
  value: number;
  /** Its first and second derivative with the distance, 1/px and 1/px^2. */
  slope: number;
  bend: number;
}

const SQRT1_2PI = 0.3989422804014327;
const REACH = 7;

/**
 * Shadowed fraction of a square pixel whose centre lies `depth` px inside a straight edge.
 *
 * The edge profile is the normal distribution function of width `penumbra`; the pixel, seen along the edge's normal,
 * is the convolution of two boxes of widths |cos| and |sin| of the normal's angle (a trapezoid). With
 * G(z) = ((z^2 + s^2) Phi(z/s) + z s phi(z/s)) / 2, the second integral of Phi(z/s), the convolution is a second
 * difference of G: exact for a straight edge.
 *
 * @param depth    px, > 0 inside the shadow
 * @param penumbra s, px, > 0
 * @param normalX, normalY  the edge's unit normal
 */
export function blurredEdge(
  depth: number,
  penumbra: number,
  normalX: number,
  normalY: number,
  out: EdgeValues,
): EdgeValues {
  const absX = Math.abs(normalX);
  const absY = Math.abs(normalY);
  const wide = Math.max(absX, absY);
  const narrow = Math.min(absX, absY);
  const half = (wide + narrow) / 2;
  if (depth > half + REACH * penumbra || depth < -half - REACH * penumbra) {
    out.value = depth > 0 ? 1 : 0;
    out.slope = 0;
    out.bend = 0;
    return out;
  }
  if (narrow < 0.01) {
    // The narrow box is worth its variance; the second difference below would divide by its width.
    const s = Math.sqrt(penumbra * penumbra + (narrow * narrow) / 12);
    const a = depth + wide / 2;
    const b = depth - wide / 2;
    const cdfA = normalCdf(a / s);
    const cdfB = normalCdf(b / s);
    const pdfA = normalPdf(a / s);
    const pdfB = normalPdf(b / s);
    out.value = (a * cdfA + s * pdfA - b * cdfB - s * pdfB) / wide;
    out.slope = (cdfA - cdfB) / wide;
    out.bend = (pdfA - pdfB) / (s * wide);
    return out;
  }
  const inner = (wide - narrow) / 2;
  let value = 0;
  let slope = 0;
  let bend = 0;
  for (let k = 0; k < 4; k++) {
    const z = depth + (k === 0 ? half : k === 1 ? inner : k === 2 ? -inner : -half);
    const sign = k === 0 || k === 3 ? 1 : -1;
    const cdf = normalCdf(z / penumbra);
    const pdf = penumbra * normalPdf(z / penumbra);
    value += (sign * ((z * z + penumbra * penumbra) * cdf + z * pdf)) / 2;
    slope += sign * (z * cdf + pdf);
    bend += sign * cdf;
  }
  const area = wide * narrow;
  out.value = value / area;
  out.slope = slope / area;
  out.bend = bend / area;
  return out;
}

function normalCdf(z: number): number {
  return 0.5 * (1 + erf(z * Math.SQRT1_2));
}

function normalPdf(z: number): number {
  return SQRT1_2PI * exp(-0.5 * z * z);
}

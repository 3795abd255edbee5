import type { Estimate } from "../model/estimate.ts";
import { MASK_REASONS } from "../model/mask.ts";
import type { Measured } from "../model/measured.ts";
import { failure, type Result, success } from "../model/result.ts";

/** Where the direct beam is summed: pixel centres within `radius` of (x, y), array coordinates, px. */
export interface BeamCircle {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
}

/** A direct beam's counts, net of what is there with the beam blocked. */
export interface BeamCounts {
  readonly net: number;
  /** Variance of the beam frame's own counts. */
  readonly ownVariance: number;
  /** Variance that came with the blocked beam; shared by all runs from which the same frame was taken off. */
  readonly sharedVariance: number;
  /** Variance that the scatter of the sensitivity map brings; the same for all beams on the same pixels. */
  readonly sensitivityVariance: number;
  /** Net counts of pixels whose sensitivity is not known and was taken as the mean. */
  readonly unknownSensitivity: number;
  /** Monitor counts or seconds. */
  readonly normalisation: number;
  /** 1/M for a monitor, 0 for a time. */
  readonly normalisationRelativeVariance: number;
  /** Fraction that the attenuator lets through, and its sigma where it is known. */
  readonly attenuation: number;
  readonly attenuationSigma?: number;
  readonly pixels: number;
  /** Pixels within the circle that could not be used. */
  readonly maskedPixels: number;
}

export type BeamSum = Pick<
  BeamCounts,
  "net" | "ownVariance" | "sharedVariance" | "sensitivityVariance" | "unknownSensitivity" | "pixels" | "maskedPixels"
>;

/**
 * Sums signal / norm over a circle. The norm must hold the sensitivity alone, so that the sum stays in counts.
 * @param own role of the beam's own term; every other term is shared background
 * @returns a fault where a pixel of the beam is saturated, or where no net counts remain
 */
export function sumBeam(estimate: Estimate, circle: BeamCircle, own: string): Result<BeamSum> {
  const { width, height, mask, norm, terms, unknownNorm } = estimate;
  const sensitivity = estimate.normSumRelativeVariance ?? estimate.normRelativeVariance;
  const sums = {
    net: 0,
    ownVariance: 0,
    sharedVariance: 0,
    sensitivityVariance: 0,
    unknownSensitivity: 0,
    pixels: 0,
    maskedPixels: 0,
  };
  const { x: cx, y: cy, radius } = circle;
  for (let y = Math.max(0, Math.ceil(cy - radius)); y <= Math.min(height - 1, cy + radius); y++)
    for (let x = Math.max(0, Math.ceil(cx - radius)); x <= Math.min(width - 1, cx + radius); x++) {
      if ((x - cx) * (x - cx) + (y - cy) * (y - cy) > radius * radius) continue;
      const p = y * width + x;
      if (mask[p] !== 0) {
        if ((mask[p]! & MASK_REASONS.saturated) !== 0)
          return failure("out-of-range", `pixel (${x}, ${y}) is saturated in the direct beam: use an attenuator`);
        sums.maskedPixels++;
        continue;
      }
      sums.pixels++;
      const weight = norm[p]!;
      let signal = 0;
      for (const { role, coefficient, value, variance } of terms) {
        const a = coefficient[p]! / weight;
        signal += a * value[p]!;
        if (role === own) sums.ownVariance += a * a * variance[p]!;
        else sums.sharedVariance += a * a * variance[p]!;
      }
      sums.net += signal;
      sums.sensitivityVariance += signal * signal * (sensitivity?.[p] ?? 0);
      if (unknownNorm !== undefined && unknownNorm.pixels[p] !== 0) sums.unknownSensitivity += signal;
    }
  // Sensitivity swells slowly across a detector: pixels side by side are off the mean together.
  if (unknownNorm !== undefined)
    sums.sensitivityVariance += sums.unknownSensitivity * sums.unknownSensitivity * unknownNorm.relativeVariance;
  if (!(sums.net > 0))
    return failure(
      "out-of-range",
      `no net counts within ${radius} px of (${cx}, ${cy}): ${sums.net} in ${sums.pixels} pixels`,
    );
  return success(sums);
}

/**
 * Counts of the beam per unit of normalisation, as if no attenuator stood in it: N / (M a). A beam falls on few pixels,
 * and what the flood scatters there is often the largest part of its sigma.
 */
export function beamIntensity(beam: BeamCounts): Required<Measured> & { readonly sensitivityRelativeSigma: number } {
  const value = beam.net / (beam.normalisation * beam.attenuation);
  const sensitivity = beam.sensitivityVariance / (beam.net * beam.net);
  return {
    value,
    sigma: value * Math.sqrt(relativeVariance(beam) + sensitivity),
    sensitivityRelativeSigma: Math.sqrt(sensitivity),
  };
}

/**
 * T = (N_S/(M_S a_S)) / (N_0/(M_0 a_0)), N the net counts in the same region. Relative variances add: counts, monitors,
 * attenuators; less 2 s_S s_0 N_b/(N_S N_0) where the same blocked-beam frame was taken off both (scaled by s). The
 * sensitivity of the pixels cancels, and its scatter with it.
 * A region larger than the beam also collects small-angle scattering and makes T too high.
 */
export function transmissionRatio(through: BeamCounts, open: BeamCounts): Required<Measured> {
  const value =
    through.net / (through.normalisation * through.attenuation) / (open.net / (open.normalisation * open.attenuation));
  const shared = Math.sqrt(through.sharedVariance * open.sharedVariance) / (through.net * open.net);
  const relative = relativeVariance(through) + relativeVariance(open) - 2 * shared;
  return { value, sigma: value * Math.sqrt(relative) };
}

/** Relative variance of a beam's intensity: own counts, blocked beam, monitor and attenuator; not the sensitivity's. */
export function relativeVariance(beam: BeamCounts): number {
  const attenuation = (beam.attenuationSigma ?? 0) / beam.attenuation;
  return (
    (beam.ownVariance + beam.sharedVariance) / (beam.net * beam.net) +
    beam.normalisationRelativeVariance +
    attenuation * attenuation
  );
}

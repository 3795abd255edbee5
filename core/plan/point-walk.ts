import { type Estimate, pixelSignal } from "../model/estimate.ts";
import type { Geometry } from "../model/geometry.ts";
import { type Result, success } from "../model/result.ts";
import { buildEstimate } from "./build-estimate.ts";
import { type BuiltMask, buildMask } from "./build-mask.ts";
import { metadataByRole } from "./execute.ts";
import type { Inputs } from "./inputs.ts";
import type { Plan } from "./plan.ts";
import { resolveMetadata } from "./resolve-metadata.ts";

/** A point after a step: what its pixels would give if the corrections ended there. */
export interface WalkStep {
  /** The correction's key. */
  readonly step: string;
  readonly intensity: number;
}

/**
 * A point of an average, followed through the corrections: sum(signal)/sum(norm) over its pixels after each of them. The
 * first step, the mask, gives counts a pixel; the last one the intensity of the curve.
 *
 * @param pixels indices of the point's pixels, row-major; those that the mask takes out are passed over
 */
export function walkPoint(
  plan: Plan,
  inputs: Inputs,
  {
    geometry,
    pixels,
    mask = buildMask(plan, inputs, resolveMetadata(plan, "sample", inputs.runs.sample.metadata)),
  }: {
    readonly geometry: Geometry;
    readonly pixels: ArrayLike<number>;
    /** Of a reduction that was made with the same plan and inputs. */
    readonly mask?: BuiltMask | undefined;
  },
): Result<readonly WalkStep[]> {
  const metadata = metadataByRole(plan, inputs);
  const steps: WalkStep[] = [];
  const built = buildEstimate(plan, inputs, {
    ...{ geometry, metadata, mask },
    afterStep: (step, sample) => steps.push({ step, intensity: intensityOf(sample, pixels) }),
  });
  return built.ok ? success(steps) : built;
}

function intensityOf(estimate: Estimate, pixels: ArrayLike<number>): number {
  let [signal, norm] = [0, 0];
  for (let i = 0; i < pixels.length; i++) {
    const p = pixels[i]!;
    if (estimate.mask[p] !== 0) continue;
    signal += pixelSignal(estimate, p).signal;
    norm += estimate.norm[p]!;
  }
  return signal / norm;
}

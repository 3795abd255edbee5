import { averageFrame, type QMaps, qMaps } from "../../core/averaging/average-frame.ts";
import { isSquareToBeam } from "../../core/geometry/bank-plane.ts";
import type { Curve, Profile } from "../../core/model/curve.ts";
import type { Geometry } from "../../core/model/geometry.ts";
import { averageChoice } from "../../core/plan/build-averages.ts";
import type { PlanAverage } from "../../core/plan/plan.ts";
import type { Reduction } from "../../core/plan/reduction.ts";
import { FollowKernels, type FollowSums, type RadialAverage } from "./follow-kernels.ts";

/**
 * Up to so many pixels the exact estimator keeps up with the pointer: about 0.1 microseconds a pixel and average on one
 * slow core. Larger frames take the live kernels.
 */
const EXACT_PIXELS = 128 * 128 * 2;

/**
 * Curves while a centre, a sector or an annulus is dragged: sums over the signal and the norm of the last reduction. On a
 * small frame that norm keeps the solid angles of the old centre; the radial table moves them along, by cosine cubed.
 * Either differs from the exact plan by parts in a thousand at most; that follows when the pointer lets go. The sigmas of
 * large frames are those from counting, without the flood's own.
 */
export class Follower {
  #reduction: Reduction;
  #averages: readonly PlanAverage[];
  /** As text, to tell which of them a drag changes. */
  #written: ReadonlyMap<string, string>;
  readonly #kernels: FollowKernels;

  /** @param averages those that the reduction was made with */
  constructor(reduction: Reduction, averages: readonly PlanAverage[]) {
    this.#reduction = reduction;
    this.#averages = averages;
    this.#written = written(averages);
    const solidAngle = reduction.ledger.steps.find(({ step }) => step === "solidAngle");
    this.#kernels = new FollowKernels({ ...reduction, hasSolidAngle: solidAngle?.status === "applied" });
  }

  /** Takes other averages of the same corrected frame: what was prepared still holds. @returns whether it is the same */
  renew(reduction: Reduction, averages: readonly PlanAverage[]): boolean {
    if (reduction.estimate !== this.#reduction.estimate) return false;
    this.#reduction = reduction;
    this.#averages = averages;
    this.#written = written(averages);
    this.#kernels.keepFor(averages.filter(isRadial));
    return true;
  }

  /** Makes what the first step of a drag would otherwise wait for, a part at a time. */
  preparations(): Generator<undefined, void> {
    return this.#isSmall(this.#averages) ? nothing() : this.#kernels.preparations(this.#averages.filter(isRadial));
  }

  follow(
    beamCentre: { readonly x: number; readonly y: number },
    averages: readonly PlanAverage[],
  ): { readonly curves: readonly Curve[]; readonly profiles: readonly Profile[] } {
    const before = this.#reduction.geometry;
    const moved = before.beamCentre.x !== beamCentre.x || before.beamCentre.y !== beamCentre.y;
    const geometry = moved ? { ...before, beamCentre } : before;
    const isSmall = this.#isSmall(averages);
    let maps: QMaps | undefined = moved ? undefined : this.#reduction.maps;
    const curves: Curve[] = [];
    const profiles: Profile[] = [];
    for (const average of averages) {
      const followed = this.#unchanged(average, moved) ?? (isSmall ? undefined : this.#fast(average, geometry, moved));
      if (followed === undefined) maps ??= qMaps(geometry);
      const done = followed ?? this.#exact(average, geometry, maps ?? this.#reduction.maps);
      if (done === undefined) continue;
      if (done.kind === "annulus") profiles.push(done);
      else curves.push(done);
    }
    return { curves, profiles };
  }

  #isSmall(averages: readonly PlanAverage[]): boolean {
    const { width, height } = this.#reduction.geometry;
    return width * height * averages.length <= EXACT_PIXELS;
  }

  #unchanged(average: PlanAverage, moved: boolean): Curve | Profile | undefined {
    if (moved || this.#written.get(average.id) !== JSON.stringify(average)) return undefined;
    return this.#curveBefore(average.id);
  }

  #curveBefore(id: string): Curve | Profile | undefined {
    const { curves, profiles } = this.#reduction;
    return curves.find((curve) => curve.id === id) ?? profiles.find((profile) => profile.id === id);
  }

  /** An average without pixels under the pointer is left out until there are some: the exact plan says so then. */
  #exact(average: PlanAverage, geometry: Geometry, maps: QMaps): Curve | Profile | undefined {
    const { estimate, unit } = this.#reduction;
    const done = averageFrame(averageChoice(average), estimate, { geometry, maps, unit });
    return done.ok ? done.value : undefined;
  }

  #fast(average: PlanAverage, geometry: Geometry, moved: boolean): Curve | Profile | undefined {
    const { unit } = this.#reduction;
    if (average.kind === "radial" && moved && isSquareToBeam(geometry)) {
      const followed = this.#kernels.radial(average, geometry);
      return followed && curveOfSums("radial", average.id, followed, unit);
    }
    if (average.kind === "sector" && !moved) {
      const choice = averageChoice(average);
      if (choice.kind !== "sector") throw new TypeError("a sector of the plan is a sector");
      const followed = this.#kernels.sector(average, choice);
      return followed && curveOfSums("sector", average.id, followed, unit);
    }
    // What no kernel follows in time stays as it was until the pointer lets go.
    return moved ? this.#curveBefore(average.id) : undefined;
  }
}

function isRadial(average: PlanAverage): average is RadialAverage {
  return average.kind === "radial" || average.kind === "sector";
}

function written(averages: readonly PlanAverage[]): ReadonlyMap<string, string> {
  return new Map(averages.map((average) => [average.id, JSON.stringify(average)]));
}

function* nothing(): Generator<undefined, void> {}

/** Plain counts are their own variance, with that of one count where nothing was counted. */
function curveOfSums(
  kind: "radial" | "sector",
  id: string,
  { binMap: { edges }, sums: { count, pixels, counts, norm, variance } }: FollowSums,
  unit: Curve["unit"],
): Curve {
  const kept: number[] = [];
  for (let b = 0; b < count; b++) if ((norm[b] ?? 0) > 0) kept.push(b);
  const column = (value: (b: number) => number) => Float64Array.from(kept, value);
  const unknown = new Float64Array(kept.length).fill(Number.NaN);
  const varianceOf = (b: number) => (variance === undefined ? counts[b] || 1 : (variance[b] ?? Number.NaN));
  return {
    kind,
    id,
    unit,
    q: column((b) => ((edges[b] ?? Number.NaN) + (edges[b + 1] ?? Number.NaN)) / 2),
    intensity: column((b) => (counts[b] ?? Number.NaN) / (norm[b] ?? Number.NaN)),
    sigma: column((b) => Math.sqrt(varianceOf(b)) / (norm[b] ?? Number.NaN)),
    norm: column((b) => norm[b] ?? Number.NaN),
    pixels: column((b) => pixels[b] ?? 0),
    counts: variance === undefined ? column((b) => counts[b] ?? Number.NaN) : unknown,
    scatterSigma: unknown,
    chi2: unknown,
    zeroCounts: Uint8Array.from(kept, (b) => (variance === undefined && counts[b] === 0 ? 1 : 0)),
    bin: Int32Array.from(kept),
  };
}

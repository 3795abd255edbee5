import { averageFrame, averageMembership, type QMaps, qMaps } from "../../core/averaging/average-frame.ts";
import { type BinSums, binSums } from "../../core/averaging/bin-sums.ts";
import type { BinMap } from "../../core/averaging/membership.ts";
import { RadialTable } from "../../core/averaging/radial-table.ts";
import { SectorPass } from "../../core/averaging/sector-pass.ts";
import { isSquareToBeam } from "../../core/geometry/bank-plane.ts";
import type { Curve, Profile } from "../../core/model/curve.ts";
import type { Estimate } from "../../core/model/estimate.ts";
import type { Geometry } from "../../core/model/geometry.ts";
import { averageChoice } from "../../core/plan/build-averages.ts";
import type { PlanAverage } from "../../core/plan/plan.ts";
import type { Reduction } from "../../core/plan/reduction.ts";

/**
 * Up to so many pixels the exact estimator keeps up with the pointer: about 0.1 microseconds a pixel and average on one
 * slow core. Larger frames take the live kernels, which give no sigma.
 */
const EXACT_PIXELS = 128 * 128 * 2;

/**
 * Curves while a centre, a sector or an annulus is dragged: sums over the signal and the norm of the last reduction. On a
 * small frame that norm keeps the solid angles of the old centre; the radial table moves them along, by cosine cubed.
 * Either differs from the exact plan by parts in a thousand at most; that follows when the pointer lets go.
 */
export class Follower {
  readonly #reduction: Reduction;
  readonly #maps: QMaps;
  readonly #averages: readonly PlanAverage[];
  readonly #combined: { readonly signal: Float64Array; readonly norm: Float64Array };
  #table: RadialTable | undefined;
  readonly #edges = new Map<string, BinMap>();
  readonly #passes = new Map<string, SectorPass>();

  /** @param averages those that the reduction was made with */
  constructor(reduction: Reduction, averages: readonly PlanAverage[]) {
    this.#reduction = reduction;
    this.#averages = averages;
    this.#maps = reduction.maps;
    this.#combined = { signal: combinedSignal(reduction.estimate), norm: reduction.estimate.norm };
  }

  /** Makes what the first step of a drag would otherwise wait for. */
  prepare(): void {
    for (const average of this.#averages) this.#radialBins(average);
    this.#table ??= this.#newTable();
  }

  follow(
    beamCentre: { readonly x: number; readonly y: number },
    averages: readonly PlanAverage[],
  ): { readonly curves: readonly Curve[]; readonly profiles: readonly Profile[] } {
    const before = this.#reduction.geometry;
    const moved = before.beamCentre.x !== beamCentre.x || before.beamCentre.y !== beamCentre.y;
    const geometry = moved ? { ...before, beamCentre } : before;
    const isSmall = geometry.width * geometry.height * averages.length <= EXACT_PIXELS;
    let maps: QMaps | undefined = moved ? undefined : this.#maps;
    const curves: Curve[] = [];
    const profiles: Profile[] = [];
    for (const average of averages) {
      const followed = this.#unchanged(average, moved) ?? (isSmall ? undefined : this.#fast(average, geometry, moved));
      if (followed === undefined) maps ??= qMaps(geometry);
      const done = followed ?? this.#exact(average, geometry, maps ?? this.#maps);
      if (done === undefined) continue;
      if (done.kind === "annulus") profiles.push(done);
      else curves.push(done);
    }
    return { curves, profiles };
  }

  #unchanged(average: PlanAverage, moved: boolean): Curve | Profile | undefined {
    if (moved || JSON.stringify(this.#averageBefore(average.id)) !== JSON.stringify(average)) return undefined;
    return this.#curveBefore(average.id);
  }

  #averageBefore(id: string): PlanAverage | undefined {
    return this.#averages.find((average) => average.id === id);
  }

  #curveBefore(id: string): Curve | Profile | undefined {
    const { curves, profiles } = this.#reduction;
    return [...curves, ...profiles].find((average) => average.id === id);
  }

  /** An average without pixels under the pointer is left out until there are some: the exact plan says so then. */
  #exact(average: PlanAverage, geometry: Geometry, maps: QMaps): Curve | Profile | undefined {
    const { estimate, unit } = this.#reduction;
    const done = averageFrame(averageChoice(average), estimate, { geometry, maps, unit });
    return done.ok ? done.value : undefined;
  }

  #fast(average: PlanAverage, geometry: Geometry, moved: boolean): Curve | Profile | undefined {
    if (average.kind === "radial" && moved && isSquareToBeam(geometry)) return this.#radial(average, geometry);
    if (average.kind === "sector" && !moved) return this.#sector(average);
    // What no kernel follows in time stays as it was until the pointer lets go.
    return moved ? this.#curveBefore(average.id) : undefined;
  }

  #radial(average: PlanAverage, geometry: Geometry): Curve | undefined {
    const binMap = this.#radialBins(average);
    if (binMap === undefined) return undefined;
    this.#table ??= this.#newTable();
    const sums = binSums(binMap.count);
    this.#table.sum(geometry, binMap.edges, sums);
    return curveOfSums("radial", average.id, binMap, sums, this.#reduction.unit);
  }

  #sector(average: Extract<PlanAverage, { kind: "sector" }>): Curve | undefined {
    const binMap = this.#radialBins(average);
    if (binMap === undefined) return undefined;
    const mirrored = average.mirrored ?? false;
    const key = `${average.id} ${mirrored}`;
    const { norm, signal } = this.#combined;
    let pass = this.#passes.get(key);
    if (pass === undefined) {
      pass = new SectorPass(binMap, mirrored, { phi: this.#maps.phi, mask: this.#reduction.estimate.mask, norm });
      this.#passes.set(key, pass);
    }
    const choice = averageChoice(average);
    if (choice.kind !== "sector") throw new TypeError("a sector of the plan is a sector");
    const sums = binSums(binMap.count);
    pass.sum(signal, choice, sums);
    return curveOfSums("sector", average.id, binMap, sums, this.#reduction.unit);
  }

  /** The radial bins of a radial or sector average: during a drag they stay those of the last reduction. */
  #radialBins(average: PlanAverage): BinMap | undefined {
    if (average.kind !== "radial" && average.kind !== "sector") return undefined;
    const key = JSON.stringify(average.bins ?? null);
    const known = this.#edges.get(key);
    if (known !== undefined) return known;
    const { geometry, estimate } = this.#reduction;
    const ground = { geometry, maps: this.#maps, mask: estimate.mask };
    const made = averageMembership({ id: average.id, kind: "radial", bins: average.bins }, ground);
    if (!made.ok) return undefined;
    this.#edges.set(key, made.value.binMap);
    return made.value.binMap;
  }

  /** The table puts a solid angle by cosine cubed into the norm; what is left of the norm without it is the efficiency. */
  #newTable(): RadialTable {
    const { geometry, estimate } = this.#reduction;
    const { signal, norm } = this.#combined;
    const { width, height, beamCentre, pixelSizeX, pixelSizeY, distance } = geometry;
    const onAxis = (pixelSizeX * pixelSizeY) / (distance * distance);
    const efficiency = new Float64Array(norm.length);
    for (let y = 0, p = 0; y < height; y++) {
      const ty = ((y - beamCentre.y) * pixelSizeY) / distance;
      for (let x = 0; x < width; x++, p++) {
        const tx = ((x - beamCentre.x) * pixelSizeX) / distance;
        const t = 1 + tx * tx + ty * ty;
        efficiency[p] = ((norm[p] ?? 0) * t * Math.sqrt(t)) / onAxis;
      }
    }
    return new RadialTable(geometry, { frame: signal, mask: estimate.mask, efficiency });
  }
}

/** Signal of every unmasked pixel, less the background; masked ones hold 0. */
function combinedSignal({ terms, norm, mask, background }: Estimate): Float64Array {
  const signal = new Float64Array(norm.length);
  for (const { coefficient, value } of terms)
    for (let p = 0; p < signal.length; p++) signal[p] = (signal[p] ?? 0) + (coefficient[p] ?? 0) * (value[p] ?? 0);
  for (let p = 0; p < signal.length; p++)
    signal[p] = mask[p] === 0 ? (signal[p] ?? 0) - background * (norm[p] ?? 0) : 0;
  return signal;
}

function curveOfSums(
  kind: "radial" | "sector",
  id: string,
  { edges }: BinMap,
  { count, pixels, counts, norm }: BinSums,
  unit: Curve["unit"],
): Curve {
  const kept = Int32Array.from({ length: count }, (_, b) => b).filter((b) => (norm[b] ?? 0) > 0);
  const column = (value: (b: number) => number) => Float64Array.from(kept, value);
  const unknown = new Float64Array(kept.length).fill(Number.NaN);
  const middle = (b: number) => ((edges[b] ?? Number.NaN) + (edges[b + 1] ?? Number.NaN)) / 2;
  return {
    kind,
    id,
    unit,
    q: column(middle),
    intensity: column((b) => (counts[b] ?? Number.NaN) / (norm[b] ?? Number.NaN)),
    norm: column((b) => norm[b] ?? Number.NaN),
    pixels: column((b) => pixels[b] ?? 0),
    sigma: unknown,
    scatterSigma: unknown,
    chi2: unknown,
    counts: unknown,
    zeroCounts: new Uint8Array(kept.length),
    bin: kept,
  };
}

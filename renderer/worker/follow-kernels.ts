import { averageMembership, type QMaps } from "../../core/averaging/average-frame.ts";
import { type BinSums, binSums } from "../../core/averaging/bin-sums.ts";
import type { BinMap } from "../../core/averaging/membership.ts";
import { RadialTable } from "../../core/averaging/radial-table.ts";
import type { Sector } from "../../core/averaging/sector.ts";
import { SectorOrder } from "../../core/averaging/sector-order.ts";
import { SectorPass } from "../../core/averaging/sector-pass.ts";
import type { Estimate } from "../../core/model/estimate.ts";
import type { Geometry } from "../../core/model/geometry.ts";
import type { PlanAverage, PlanBins } from "../../core/plan/plan.ts";

/** Sorted orders take some 40 bytes a pixel; so many pixels of all orders together get one. */
const ORDERED_PIXELS = 4 * 1024 * 1024;

/** What the kernels stand on: one corrected frame. */
export interface FollowGround {
  readonly geometry: Geometry;
  readonly maps: QMaps;
  readonly estimate: Estimate;
  /** Whether the norm holds solid angles: they change with the beam centre. */
  readonly hasSolidAngle: boolean;
}

/** An average over bins of Q, of all pixels or of a sector. */
export type RadialAverage = Extract<PlanAverage, { readonly kind: "radial" | "sector" }>;

/** Sums of a frame in bins that stay, while a beam centre or a sector moves. `variance` is absent for plain counts. */
export interface FollowSums {
  readonly binMap: BinMap;
  readonly sums: BinSums;
}

/** The live kernels of one corrected frame, each made when it is first wanted, or ahead of that by `preparations`. */
export class FollowKernels {
  readonly #ground: FollowGround;
  readonly #signal: Float64Array;
  /** Absent where the signal is its own variance. */
  readonly #variance: Float64Array | undefined;
  #table: RadialTable | undefined;
  #bins = new Map<string, BinMap>();
  #passes = new Map<string, SectorPass>();
  #orders = new Map<string, SectorOrder>();

  constructor(ground: FollowGround) {
    this.#ground = ground;
    const { signal, variance } = combined(ground.estimate);
    this.#signal = signal;
    this.#variance = variance;
  }

  /** Forgets what none of these averages needs. */
  keepFor(averages: readonly RadialAverage[]): void {
    const kept = <T>(made: Map<string, T>, keyOf: (average: RadialAverage) => string) => {
      const keys = new Set(averages.map(keyOf));
      return new Map([...made].filter(([key]) => keys.has(key)));
    };
    this.#bins = kept(this.#bins, ({ bins }) => binsKey(bins));
    this.#passes = kept(this.#passes, sectorKey);
    this.#orders = kept(this.#orders, sectorKey);
  }

  /** Everything that a first step of a drag would otherwise wait for, a part at a time: others may ask in between. */
  *preparations(averages: readonly RadialAverage[]): Generator<undefined, void> {
    for (const average of averages) {
      this.#binsOf(average);
      yield;
    }
    this.#table ??= this.#newTable();
    yield;
    const sectors = averages.filter(({ kind }) => kind === "sector");
    for (const average of sectors) {
      this.#passOf(average);
      yield;
    }
    for (const average of sectors) {
      this.#makeOrder(average);
      yield;
    }
  }

  /** With a beam centre elsewhere; the bank must stand square to the beam. Undefined: no bins can be made. */
  radial(average: RadialAverage, geometry: Geometry): FollowSums | undefined {
    const binMap = this.#binsOf(average);
    if (binMap === undefined) return undefined;
    this.#table ??= this.#newTable();
    const sums = this.#room(binMap);
    this.#table.sum(geometry, binMap.edges, sums);
    return { binMap, sums };
  }

  sector(average: RadialAverage, sector: Sector): FollowSums | undefined {
    const binMap = this.#binsOf(average);
    if (binMap === undefined) return undefined;
    const sums = this.#room(binMap);
    const order = this.#orders.get(sectorKey(average));
    if (order !== undefined) order.sum(sector, sums);
    else this.#passOf(average)?.sum(this.#signal, sector, sums, this.#variance);
    return { binMap, sums };
  }

  #room({ count }: BinMap): BinSums {
    return binSums(count, this.#variance !== undefined);
  }

  #binsOf({ id, bins }: RadialAverage): BinMap | undefined {
    const key = binsKey(bins);
    const known = this.#bins.get(key);
    if (known !== undefined) return known;
    const { geometry, maps, estimate } = this.#ground;
    const made = averageMembership({ id, kind: "radial", bins }, { geometry, maps, mask: estimate.mask });
    if (!made.ok) return undefined;
    this.#bins.set(key, made.value.binMap);
    return made.value.binMap;
  }

  #passOf(average: RadialAverage): SectorPass | undefined {
    const key = sectorKey(average);
    const binMap = this.#binsOf(average);
    const known = this.#passes.get(key);
    if (known !== undefined || binMap === undefined) return known;
    const { maps, estimate } = this.#ground;
    const pass = new SectorPass(binMap, isMirrored(average), { ...estimate, phi: maps.phi });
    this.#passes.set(key, pass);
    return pass;
  }

  #makeOrder(average: RadialAverage): void {
    const key = sectorKey(average);
    const binMap = this.#binsOf(average);
    if (binMap === undefined || this.#orders.has(key)) return;
    if ((this.#orders.size + 1) * binMap.index.length > ORDERED_PIXELS) return;
    const { maps, estimate } = this.#ground;
    const order = new SectorOrder(binMap, maps.phi, isMirrored(average));
    order.setFrame(this.#signal, estimate.mask, estimate.norm, this.#variance);
    this.#orders.set(key, order);
  }

  /** The table puts a solid angle by cosine cubed into the norm; what is left of the norm without it is the efficiency. */
  #newTable(): RadialTable {
    const { geometry, estimate, hasSolidAngle } = this.#ground;
    const { norm, mask } = estimate;
    const frame = { frame: this.#signal, mask, variance: this.#variance };
    if (!hasSolidAngle) return new RadialTable(geometry, { ...frame, efficiency: norm, solidAngle: "none" });
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
    return new RadialTable(geometry, { ...frame, efficiency });
  }
}

function isMirrored(average: RadialAverage): boolean {
  return average.kind === "sector" && (average.mirrored ?? false);
}

function binsKey(bins: PlanBins | undefined): string {
  return JSON.stringify(bins ?? null);
}

/** Sectors of the same bins and kind share their kernels, wherever they point. */
function sectorKey(average: RadialAverage): string {
  return `${binsKey(average.bins)} ${isMirrored(average)}`;
}

/** Signal of every pixel, less the background, and its variance where that is another; masked pixels hold anything. */
function combined({ terms, norm, mask, background }: Estimate): {
  readonly signal: Float64Array;
  readonly variance: Float64Array | undefined;
} {
  const [first] = terms;
  if (terms.length === 1 && first !== undefined && background === 0 && isPlainCount(first, mask))
    return { signal: first.value, variance: undefined };
  const signal = new Float64Array(norm.length);
  const variance = new Float64Array(norm.length);
  for (const { coefficient, value, variance: own } of terms)
    for (let p = 0; p < signal.length; p++) {
      const a = coefficient[p] ?? 0;
      signal[p] = (signal[p] ?? 0) + a * (value[p] ?? 0);
      variance[p] = (variance[p] ?? 0) + a * a * (own[p] ?? 0);
    }
  for (let p = 0; p < signal.length; p++) signal[p] = (signal[p] ?? 0) - background * (norm[p] ?? 0);
  return { signal, variance };
}

function isPlainCount({ coefficient, value, variance }: Estimate["terms"][number], mask: Uint16Array): boolean {
  for (let p = 0; p < mask.length; p++)
    if (mask[p] === 0 && (coefficient[p] !== 1 || value[p] !== variance[p])) return false;
  return true;
}

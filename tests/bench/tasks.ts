import { averageEstimate } from "../../core/averaging/average.ts";
import { type BinSums, binSums } from "../../core/averaging/bin-sums.ts";
import { MappedSums } from "../../core/averaging/mapped-sums.ts";
import { type BinMap, radialMembership, sectorMembership } from "../../core/averaging/membership.ts";
import { RadialTable } from "../../core/averaging/radial-table.ts";
import type { Sector } from "../../core/averaging/sector.ts";
import { SectorOrder } from "../../core/averaging/sector-order.ts";
import { SectorPass } from "../../core/averaging/sector-pass.ts";
import { azimuthMap, qMap } from "../../core/geometry/maps.ts";
import { qOfRadius } from "../../core/geometry/radius-of-q.ts";
import { solidAngleMap } from "../../core/geometry/solid-angle.ts";
import type { Estimate } from "../../core/model/estimate.ts";
import type { Geometry } from "../../core/model/geometry.ts";

const FRAME_TYPES = { u16: Uint16Array, u32: Uint32Array, f32: Float32Array } as const;
type FrameType = keyof typeof FRAME_TYPES;

export interface Task {
  /** W1: bins known, frames change. W2: the beam centre moves. W3: a double sector turns. */
  readonly workload: "W1" | "W2" | "W3";
  readonly variant: "three-sums" | "counts-only" | "table" | "one-pass" | "sorted";
  readonly size: number;
  readonly type: FrameType;
}

export interface Measurement extends Task {
  readonly ms: number;
}

const SIZES = [512, 1024, 2048];
const BINS = 200;
const HALF_WIDTH = 0.26; // rad, a sector of 30 degrees

export const TASKS: readonly Task[] = SIZES.flatMap((size): Task[] => [
  { workload: "W1", variant: "three-sums", size, type: "u16" },
  { workload: "W1", variant: "counts-only", size, type: "u16" },
  // Other types differ little; one size shows it.
  ...(size === 1024
    ? ([
        { workload: "W1", variant: "three-sums", size, type: "f32" },
        { workload: "W1", variant: "counts-only", size, type: "f32" },
      ] as const)
    : []),
  { workload: "W2", variant: "table", size, type: "u16" },
  { workload: "W3", variant: "one-pass", size, type: "u16" },
  { workload: "W3", variant: "sorted", size, type: "u16" },
]);

export function taskName({ workload, variant, size, type }: Task): string {
  return [workload, variant, size, type].join("/");
}

/** One set of buffers. Two take turns: with a single one the compiler would write its addresses into the code. */
interface Ground {
  readonly geometry: Geometry;
  readonly edges: Float64Array;
  readonly binMap: BinMap;
  readonly phi: Float64Array;
  readonly frame: InstanceType<(typeof FRAME_TYPES)[FrameType]>;
  readonly mask: Uint16Array;
  readonly efficiency: Float64Array;
  readonly norm: Float64Array;
}

export interface Prepared {
  /** One repetition; even and odd ones use different buffers. */
  step(repetition: number): void;
  /** @throws where a result is not what the general estimator gives */
  check(): void;
}

export function prepare(task: Task): Prepared {
  const [first, second] = [ground(task, 11), ground(task, 12)];
  if (task.workload === "W1") return prepareW1(task, [first, second]);
  return task.workload === "W2" ? prepareW2([first, second]) : prepareW3(task, [first, second]);
}

type Pair<T> = readonly [T, T];

function prepareW1({ variant }: Task, grounds: Pair<Ground>): Prepared {
  const [a, b] = grounds.map(
    ({ binMap, mask, norm }) => new MappedSums(binMap, mask, norm),
  ) as unknown as Pair<MappedSums>;
  const out = binSums(BINS);
  const run = (repetition: number): void => {
    const even = repetition % 2 === 0;
    const sums = even ? a : b;
    const { frame } = grounds[even ? 0 : 1];
    if (variant === "three-sums") sums.sum(frame, out);
    else sums.sumCounts(frame, out);
  };
  return {
    step: run,
    check() {
      for (const i of [0, 1] as const) {
        run(i);
        const { binMap, norm } = grounds[i];
        compare(out, expected(grounds[i], binMap, norm));
      }
    },
  };
}

function prepareW2(grounds: Pair<Ground>): Prepared {
  const [a, b] = grounds.map(
    ({ geometry, frame, mask, efficiency }) => new RadialTable(geometry, { frame, mask, efficiency }),
  ) as unknown as Pair<RadialTable>;
  const out = binSums(BINS);
  const moved = (repetition: number): Geometry => {
    const { geometry } = grounds[repetition % 2 === 0 ? 0 : 1];
    const { x, y } = geometry.beamCentre;
    return { ...geometry, beamCentre: { x: x + 0.037 * (repetition % 50), y: y - 0.021 * (repetition % 50) } };
  };
  const run = (repetition: number): void => {
    const even = repetition % 2 === 0;
    (even ? a : b).sum(moved(repetition), grounds[even ? 0 : 1].edges, out);
  };
  return {
    step: run,
    check() {
      for (const i of [0, 7]) {
        run(i);
        const geometry = moved(i);
        const { edges, efficiency } = grounds[i % 2 === 0 ? 0 : 1];
        const omega = solidAngleMap(geometry, "cosine-cubed");
        const norm = efficiency.map((value, p) => value * omega[p]!);
        compare(out, expected(grounds[i % 2 === 0 ? 0 : 1], radialMembership(geometry, edges, qMap(geometry)), norm));
      }
    },
  };
}

function prepareW3({ variant }: Task, grounds: Pair<Ground>): Prepared {
  const out = binSums(BINS);
  const turned = (repetition: number): Sector => ({
    centre: (0.0137 * repetition) % Math.PI,
    halfWidth: HALF_WIDTH,
    mirrored: true,
  });
  const sorted = variant === "sorted";
  const turners = grounds.map((g) => {
    if (!sorted) {
      const pass = new SectorPass(g.binMap, true, g);
      return (sector: Sector): void => pass.sum(g.frame, sector, out);
    }
    const order = new SectorOrder(g.binMap, g.phi, true);
    order.setFrame(g.frame, g.mask, g.norm);
    return (sector: Sector): void => order.sum(sector, out);
  });
  const run = (repetition: number): void => turners[repetition % 2]?.(turned(repetition));
  return {
    step: run,
    check() {
      for (const i of [0, 101]) {
        run(i);
        const g = grounds[i % 2 === 0 ? 0 : 1];
        compare(out, expected(g, sectorMembership(g.binMap, g.phi, turned(i)), g.norm));
      }
    },
  };
}

function ground({ size, type, workload }: Task, seed: number): Ground {
  const geometry: Geometry = {
    width: size,
    height: size,
    pixelSizeX: 1 / size,
    pixelSizeY: 1 / size,
    distance: 4,
    wavelength: 6,
    beamCentre: { x: size * 0.503, y: size * 0.491 },
    rowOrder: "bottom-up",
    transpose: false,
    tilt: [0, 0],
  };
  const qMax = qOfRadius(geometry, 0.7);
  const edges = Float64Array.from({ length: BINS + 1 }, (_, k) => qMax * (0.01 + (0.99 * k) / BINS));
  const draw = wholeNumbers(seed);
  const pixels = size * size;
  const frame = new FRAME_TYPES[type](pixels);
  const mask = new Uint16Array(pixels);
  const efficiency = new Float64Array(pixels);
  const q = qMap(geometry);
  for (let p = 0; p < pixels; p++) {
    frame[p] = draw(40);
    efficiency[p] = 0.9 + draw(200) / 1000;
    // A beam stop and scattered dead pixels.
    mask[p] = q[p]! < 0.03 * qMax || draw(1000) === 0 ? 1 : 0;
  }
  const omega = solidAngleMap(geometry, "cosine-cubed");
  return {
    geometry,
    edges,
    binMap: radialMembership(geometry, edges, q),
    // Only sectors look at azimuths.
    phi: workload === "W3" ? azimuthMap(geometry) : new Float64Array(0),
    frame,
    mask,
    efficiency,
    norm: efficiency.map((value, p) => value * omega[p]!),
  };
}

/** Whole numbers below a limit, from the minimal standard generator (Park & Miller 1988, from memory): enough to fill frames. */
function wholeNumbers(seed: number): (limit: number) => number {
  let state = seed;
  return (limit) => {
    state = (state * 48271) % 2147483647;
    return state % limit;
  };
}

/** The same sums by the general estimator. */
function expected({ geometry, frame, mask }: Ground, binMap: BinMap, norm: Float64Array): BinSums {
  const counts = Float64Array.from(frame);
  const coefficient = new Float64Array(counts.length).fill(1);
  const estimate: Estimate = {
    width: geometry.width,
    height: geometry.height,
    mask,
    terms: [{ role: "sample", counts, value: counts, variance: counts, coefficient }],
    norm,
    common: [],
    background: 0,
  };
  const columns = averageEstimate(estimate, binMap);
  const sums = binSums(BINS);
  columns.bin.forEach((bin, i) => {
    sums.pixels[bin] = columns.pixels[i]!;
    sums.counts[bin] = columns.counts[i]!;
    sums.norm[bin] = columns.norm[i]!;
  });
  return sums;
}

/** Whole numbers bit for bit, norms to 1e-12: a time counts only for a result that is right. */
function compare(got: BinSums, wanted: BinSums): void {
  for (let b = 0; b < BINS; b++) {
    const same = got.pixels[b] === wanted.pixels[b] && got.counts[b] === wanted.counts[b];
    const close = Math.abs(got.norm[b]! - wanted.norm[b]!) <= 1e-12 * wanted.norm[b]!;
    if (!(same && close))
      throw new Error(
        `bin ${b}: ${got.pixels[b]}, ${got.counts[b]}, ${got.norm[b]}; expected ${wanted.pixels[b]}, ${wanted.counts[b]}, ${wanted.norm[b]}`,
      );
  }
}

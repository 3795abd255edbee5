import type { CountFrame } from "../../core/beam/count-frame.ts";
import { poissonSource } from "./random.ts";

/** A frame with a stop in front of a halo, made pixel by pixel by summing over a fine grid: no formula of the fit. */
export interface BeamScene {
  readonly width: number;
  readonly height: number;
  readonly beam: { readonly x: number; readonly y: number };
  /** Expected counts at a point, as a function of the offset from the beam, px. */
  readonly halo: (dx: number, dy: number) => number;
  readonly stop?: {
    readonly shape: "circle" | "rectangle";
    readonly x: number;
    readonly y: number;
    /** Diameter, or width. */
    readonly size: number;
    readonly height?: number;
    /** rad */
    readonly turn?: number;
    /** Gaussian sigma, px. */
    readonly penumbra: number;
  };
  /** Counts a pixel that reach the detector inside the shadow too. */
  readonly level: number;
}

/** Points a side of a pixel, and shifts a side of the penumbra: enough up to some 1e6 counts. */
const FINENESS = { points: 8, shifts: 9 };

/**
 * Expected counts. The penumbra is drawn by averaging the sharp stop over shifts that follow a normal distribution
 * (a grid of its quantiles), as a finite sample aperture does.
 */
export function expectedFrame(scene: BeamScene, fineness = FINENESS): Float64Array {
  const { width, height, beam, stop } = scene;
  const out = new Float64Array(width * height);
  const shifts = normalQuantiles(fineness.shifts).map((z) => z * (stop?.penumbra ?? 0));
  const cos = Math.cos(stop?.turn ?? 0);
  const sin = Math.sin(stop?.turn ?? 0);
  const far = stop === undefined ? 0 : Math.max(stop.size, stop.height ?? 0) / 1.4 + 4 * stop.penumbra + 2;
  const largestShift = Math.SQRT2 * Math.max(...shifts);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const near = stop !== undefined && Math.abs(x - stop.x) < far && Math.abs(y - stop.y) < far;
      const n = near || Math.hypot(x - beam.x, y - beam.y) < 12 ? fineness.points : 1;
      let sum = 0;
      for (let j = 0; j < n; j++) {
        for (let i = 0; i < n; i++) {
          const px = x - 0.5 + (i + 0.5) / n;
          const py = y - 0.5 + (j + 0.5) / n;
          let open = 1;
          const away = near ? edgeDistance(px, py) : Number.POSITIVE_INFINITY;
          if (away < -largestShift) open = 0;
          else if (away < largestShift) {
            let hit = 0;
            for (const sx of shifts) for (const sy of shifts) if (isInside(px + sx, py + sy)) hit++;
            open = 1 - hit / shifts.length ** 2;
          }
          sum += scene.halo(px - beam.x, py - beam.y) * open;
        }
      }
      out[y * width + x] = sum / (n * n) + scene.level;
    }
  }
  return out;

  /** No more than the distance to the edge; < 0 inside. */
  function edgeDistance(px: number, py: number): number {
    const dx = px - stop!.x;
    const dy = py - stop!.y;
    if (stop!.shape === "circle") return Math.hypot(dx, dy) - stop!.size / 2;
    const beyondX = Math.abs(cos * dx + sin * dy) - stop!.size / 2;
    const beyondY = Math.abs(cos * dy - sin * dx) - (stop!.height ?? stop!.size) / 2;
    return Math.max(beyondX, beyondY);
  }

  function isInside(px: number, py: number): boolean {
    const dx = px - stop!.x;
    const dy = py - stop!.y;
    if (stop!.shape === "circle") return dx * dx + dy * dy <= (stop!.size / 2) ** 2;
    return (
      Math.abs(cos * dx + sin * dy) <= stop!.size / 2 &&
      Math.abs(cos * dy - sin * dx) <= (stop!.height ?? stop!.size) / 2
    );
  }
}

/** A frame with Poisson counts of `expected`, scaled so that all of it has `total` counts on average. */
export function countedFrame(expected: Float64Array, width: number, seed: number, total?: number): CountFrame {
  const draw = poissonSource(seed);
  let sum = 0;
  for (const value of expected) sum += value;
  const scale = total === undefined ? 1 : total / sum;
  return {
    width,
    height: expected.length / width,
    counts: Float64Array.from(expected, (mean) => draw(mean * scale)),
    mask: new Uint16Array(expected.length),
  };
}

/** Middles of n equally likely slices of the standard normal distribution, by bisection of its integral. */
function normalQuantiles(n: number): number[] {
  const density = (z: number): number => Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
  const quantiles: number[] = [];
  const step = 1e-3;
  let below = 0;
  for (let z = -6; z < 6 && quantiles.length < n; z += step) {
    below += density(z + step / 2) * step;
    if (below >= (quantiles.length + 0.5) / n) quantiles.push(z + step);
  }
  // The quantiles' own spread is a little below 1: bring it back, so that `penumbra` means its sigma.
  const spread = Math.sqrt(quantiles.reduce((sum, z) => sum + z * z, 0) / n);
  return quantiles.map((z) => z / spread);
}

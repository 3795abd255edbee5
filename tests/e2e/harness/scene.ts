import { azimuthMap, qMap } from "../../../core/geometry/index.ts";
import type { Curve, Profile } from "../../../core/model/curve.ts";
import type { Geometry } from "../../../core/model/geometry.ts";
import { MASK_REASONS } from "../../../core/model/mask.ts";
import type { FrameImage } from "../../../renderer/view-types.ts";
import { poissonSource } from "../../support/random.ts";

/** What a test may choose about the picture. */
export interface SceneChoice {
  readonly width: number;
  readonly height: number;
  readonly rowOrder: "bottom-up" | "top-down";
  readonly transpose: boolean;
  /** One pixel of a million counts on an otherwise empty frame; absent: scattering of spheres. */
  readonly spot?: readonly [number, number] | undefined;
  readonly tilt_deg?: number | undefined;
}

export interface Scene {
  readonly frame: FrameImage;
  readonly geometry: Geometry;
  readonly q: Float64Array;
  readonly phi: Float64Array;
}

/** A made-up frame: spheres of 120 angstrom over a flat background, a round stop, a few dead pixels and a broken one. */
export function makeScene(choice: SceneChoice): Scene {
  const { width, height, rowOrder, transpose, spot } = choice;
  const pitch = 0.64 / Math.max(width, height);
  const geometry: Geometry = {
    width,
    height,
    rowOrder,
    transpose,
    pixelSizeX: pitch,
    pixelSizeY: pitch,
    distance: 4,
    wavelength: 6,
    beamCentre: { x: width * 0.49, y: height * 0.51 },
    tilt: [((choice.tilt_deg ?? 0) * Math.PI) / 180, 0],
  };
  const q = qMap(geometry);
  const phi = azimuthMap(geometry);
  const counts = new Uint32Array(width * height);
  const mask = new Uint16Array(width * height);
  if (spot) counts[spot[1] * width + spot[0]] = 1_000_000;
  else fill(counts, mask, q, width, geometry);
  const orientation = { rowOrder, transpose };
  return {
    frame: { id: JSON.stringify(choice), width, height, counts, mask, orientation, quantity: "counts" },
    geometry,
    q,
    phi,
  };
}

function fill(counts: Uint32Array, mask: Uint16Array, q: Float64Array, width: number, { beamCentre }: Geometry): void {
  const draw = poissonSource(7);
  for (let p = 0; p < counts.length; p++) {
    const x = (p % width) - beamCentre.x;
    const y = Math.floor(p / width) - beamCentre.y;
    const behindStop = Math.hypot(x, y) < width * 0.045;
    counts[p] = draw(behindStop ? 0.4 : 9000 * sphere(q[p]! * 120) + 4);
    if (behindStop) mask[p] = MASK_REASONS.beamStop;
  }
  for (let i = 0; i < 12; i++) {
    const p = (i * 7919 + 1013) % counts.length;
    counts[p] = 0;
    mask[p] = MASK_REASONS.dead;
  }
}

/** Form factor of a sphere: [3 (sin x - x cos x) / x^3]^2. */
function sphere(x: number): number {
  const amplitude = x < 1e-2 ? 1 : (3 * (Math.sin(x) - x * Math.cos(x))) / (x * x * x);
  return amplitude * amplitude;
}

/** Sums of counts in Q bins over pixels in use: enough of an average to feed the plot. */
export function radialCurve(
  scene: Scene,
  id: string,
  accept: (phi: number) => boolean,
): { curve: Curve; bins: Int32Array } {
  const { frame, q, phi } = scene;
  const count = 90;
  const [low, high] = [0.004, 0.1];
  const sums = new Float64Array(count);
  const pixels = new Float64Array(count);
  const bins = new Int32Array(q.length).fill(-1);
  for (let p = 0; p < q.length; p++) {
    const bin = Math.floor((count * Math.log(q[p]! / low)) / Math.log(high / low));
    if (frame.mask[p] !== 0 || bin < 0 || bin >= count || !accept(phi[p]!)) continue;
    bins[p] = bin;
    sums[bin]! += frame.counts[p]!;
    pixels[bin]! += 1;
  }
  const used = [...pixels.keys()].filter((bin) => pixels[bin]! > 0);
  const column = (of: (bin: number) => number): Float64Array => Float64Array.from(used, of);
  const curve: Curve = {
    kind: "radial",
    id,
    unit: "counts",
    q: column((bin) => low * Math.exp(((bin + 0.5) / count) * Math.log(high / low))),
    qSigma: column(() => 0.0012),
    intensity: column((bin) => sums[bin]! / pixels[bin]!),
    sigma: column((bin) => Math.sqrt(Math.max(1, sums[bin]!)) / pixels[bin]!),
    scatterSigma: column((bin) => (pixels[bin]! > 1 ? Math.sqrt(Math.max(1, sums[bin]!)) / pixels[bin]! : Number.NaN)),
    chi2: column((bin) => (pixels[bin]! > 1 ? 1.02 : Number.NaN)),
    pixels: column((bin) => pixels[bin]!),
    counts: column((bin) => sums[bin]!),
    norm: column((bin) => pixels[bin]!),
    zeroCounts: Uint8Array.from(used, (bin) => (sums[bin] === 0 ? 1 : 0)),
    bin: Int32Array.from(used),
  };
  return { curve, bins };
}

/** Counts against phi in an annulus. */
export function annulusProfile({ frame, q, phi }: Scene, qMin: number, qMax: number): Profile {
  const count = 72;
  const sums = new Float64Array(count);
  const pixels = new Float64Array(count);
  for (let p = 0; p < q.length; p++) {
    if (frame.mask[p] !== 0 || q[p]! < qMin || q[p]! >= qMax) continue;
    const bin = Math.min(count - 1, Math.floor((phi[p]! / (2 * Math.PI)) * count));
    sums[bin]! += frame.counts[p]!;
    pixels[bin]! += 1;
  }
  const each = (of: (bin: number) => number): Float64Array => Float64Array.from({ length: count }, (_, bin) => of(bin));
  return {
    kind: "annulus",
    id: "ring",
    unit: "counts",
    qMin,
    qMax,
    phi: each((bin) => ((bin + 0.5) / count) * 2 * Math.PI),
    intensity: each((bin) => sums[bin]! / Math.max(1, pixels[bin]!)),
    sigma: each((bin) => Math.sqrt(Math.max(1, sums[bin]!)) / Math.max(1, pixels[bin]!)),
    scatterSigma: each(() => Number.NaN),
    chi2: each(() => Number.NaN),
    pixels: each((bin) => pixels[bin]!),
    counts: each((bin) => sums[bin]!),
    norm: each((bin) => pixels[bin]!),
    zeroCounts: new Uint8Array(count),
    bin: Int32Array.from({ length: count }, (_, bin) => bin),
  };
}

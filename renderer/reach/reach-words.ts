import type { CameraReach } from "../../core/geometry/camera-reach.ts";
import { sizeOfQ } from "../../core/geometry/q-range.ts";
import type { QSpan, Seam } from "../../core/geometry/reach-seams.ts";
import { spanOf } from "./reach-settings.ts";

/** Three digits, which is more than a setting's distances are known to. */
export function short(value: number): string {
  return String(Number(value.toPrecision(3)));
}

/** Sizes in nm that belong to a span of Q in 1/angstrom, the smallest first. */
export function sizesOf({ low, high }: QSpan): string {
  const largest = low > 0 ? short(sizeOfQ(low) / 10) : "∞";
  return `${short(sizeOfQ(high) / 10)} – ${largest}`;
}

/** "13 %" of Q; undefined where the resolution isn't known. */
export function relativeSigma(sigma: number | undefined, q: number): string | undefined {
  return sigma === undefined || !(q > 0) ? undefined : `${short((100 * sigma) / q)} %`;
}

export function seamWords({ below, above, kind, low, high }: Seam): string {
  const [a, b] = [below + 1, above + 1];
  const span = `${short(low)} to ${short(high)} 1/Å`;
  if (kind === "gap") return `Nothing reaches ${span}, between settings ${a} and ${b}: they can't be merged.`;
  if (low === high) return `Settings ${a} and ${b} only touch at ${short(low)} 1/Å: nothing to merge over.`;
  return `Settings ${a} and ${b} overlap from ${span}${low > 0 ? ` (${factorOf({ low, high })})` : ""}.`;
}

/** How wide an overlap is: "×1.9". */
export function factorOf({ low, high }: QSpan): string {
  return low > 0 ? `×${(high / low).toFixed(1)}` : "";
}

/** The whole drawing in one sentence for each setting. */
export function reachSentence(reach: CameraReach, row: number): string {
  const span = spanOf(reach);
  return `Setting ${row + 1}: Q from ${short(span.low)} to ${short(span.high)} 1/Å, sizes ${sizesOf(span)} nm.`;
}

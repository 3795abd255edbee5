import type { MeasurePoint } from "../../core/anisotropy/measure-points.ts";

const PADDING = 0.08;

/**
 * Vertical ends of a chart: all points, and the bars of those that are known better than the spread of the points; a few
 * points of no weight would otherwise squeeze the others flat.
 */
export function chartDomain(points: readonly MeasurePoint[]): { readonly low: number; readonly high: number } {
  const ys = points.map(({ y }) => y);
  let [low, high] = [Math.min(...ys), Math.max(...ys)];
  const sigmas = points.map(({ sigma }) => sigma).sort((a, b) => a - b);
  const usual = sigmas[Math.floor(sigmas.length / 2)] ?? 0;
  const spread = Math.max(high - low, 4 * usual);
  for (const { y, sigma } of points) {
    if (sigma > spread) continue;
    low = Math.min(low, y - sigma);
    high = Math.max(high, y + sigma);
  }
  const room = PADDING * (high - low) || Math.abs(high) * PADDING || 1;
  return { low: low - room, high: high + room };
}

/** Ends of the abscissa that all points of a chart fit on. */
export function abscissaDomain(
  xs: readonly number[],
  scale: "linear" | "log",
): { readonly low: number; readonly high: number } {
  const usable = scale === "log" ? xs.filter((x) => x > 0) : xs;
  if (usable.length === 0) return { low: 0.1, high: 1 };
  const [low, high] = [Math.min(...usable), Math.max(...usable)];
  if (scale === "log") return high > low ? { low: low / 1.1, high: high * 1.1 } : { low: low / 2, high: high * 2 };
  const room = PADDING * (high - low) || 1;
  return { low: low - room, high: high + room };
}

import type { OutputFile } from "./output-file.ts";
import type { OutputServices } from "./output-services.ts";
import type { ReductionFigure } from "./reduction-figures.ts";
import { utf8 } from "./text.ts";

/** Pixels a point: 360 an inch at the printed size, above the 300 that journals ask of pictures (common practice). */
export const PNG_SCALE = 5;

/**
 * Each figure as SVG and as PNG under figures/.
 *
 * @throws TypeError where the host gave no rasteriser
 */
export async function figureFiles(
  figures: readonly ReductionFigure[],
  { rasterise }: OutputServices,
  signal: AbortSignal,
): Promise<OutputFile[]> {
  if (rasterise === undefined) throw new TypeError("figures need the service rasterise");
  const files: OutputFile[] = [];
  for (const { name, svg } of figures) {
    signal.throwIfAborted();
    files.push({ path: `figures/${name}.svg`, bytes: utf8(svg) });
    files.push({ path: `figures/${name}.png`, bytes: await rasterise(svg, PNG_SCALE) });
  }
  return files;
}

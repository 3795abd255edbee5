import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { initWasm, Resvg } from "@resvg/resvg-wasm";
import type { Rasterise } from "../../core/report/output-services.ts";
import { FIGURE_FONTS, svgRasteriser } from "../../core/report/rasterise.ts";

const packages = createRequire(import.meta.url);

let started: Promise<Rasterise> | undefined;

/** Draws figures on Node. */
export const rasterise: Rasterise = async (svg, scale) => {
  started ??= start();
  return (await started)(svg, scale);
};

async function start(): Promise<Rasterise> {
  await initWasm(await readFile(packages.resolve("@resvg/resvg-wasm/index_bg.wasm")));
  const fonts = await Promise.all(FIGURE_FONTS.map((file) => readFile(packages.resolve(file))));
  return svgRasteriser(Resvg, fonts);
}

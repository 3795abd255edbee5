import mono from "@fontsource/atkinson-hyperlegible-mono/files/atkinson-hyperlegible-mono-latin-400-normal.woff2?url";
import words from "@fontsource/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-400-normal.woff2?url";
import heavy from "@fontsource/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-600-normal.woff2?url";
import more from "@fontsource/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-ext-400-normal.woff2?url";
import { initWasm, Resvg } from "@resvg/resvg-wasm";
import wasm from "@resvg/resvg-wasm/index_bg.wasm?url";
import type { Rasterise } from "../../core/report/output-services.ts";
import { svgRasteriser } from "../../core/report/rasterise.ts";

let started: Promise<Rasterise> | undefined;

/** Draws figures in a worker. Wasm and fonts are files beside the window's own; they are fetched at the first figure. */
export const rasterise: Rasterise = async (svg, scale) => {
  started ??= start();
  return (await started)(svg, scale);
};

async function start(): Promise<Rasterise> {
  // As bytes: a host that serves wasm under another type would break streaming.
  await initWasm(await fetchBytes(wasm));
  const fonts = await Promise.all([words, heavy, more, mono].map(fetchBytes));
  return svgRasteriser(Resvg, fonts);
}

async function fetchBytes(url: string): Promise<Uint8Array<ArrayBuffer>> {
  const response = await fetch(url);
  if (!response.ok) throw new Error(`${url} could not be read: ${response.status} ${response.statusText}`);
  return new Uint8Array(await response.arrayBuffer());
}

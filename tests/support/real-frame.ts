import h5 from "h5wasm/node";
import type { CountFrame } from "../../core/beam/count-frame.ts";
import { MASK_REASONS } from "../../core/model/mask.ts";
import { sharedFile } from "./shared-data.ts";

export const REAL_FRAME = "data/sans2009n012333.hdf";

/**
 * The real frame with the mask that its known answers were found with: an edge of 1, and the dead corners,
 * |dx| + |dy| <= 4 from each corner pixel.
 */
export async function realFrame(): Promise<CountFrame> {
  await h5.ready;
  const file = new h5.File(sharedFile(REAL_FRAME), "r");
  const dataset = file.get("entry1/SANS/detector/counts");
  if (!(dataset instanceof h5.Dataset) || !(dataset.value instanceof Int32Array))
    throw new Error("the real frame has no counts where they are expected");
  const counts = dataset.value;
  file.close();
  const mask = new Uint16Array(128 * 128);
  for (let y = 0; y < 128; y++) {
    for (let x = 0; x < 128; x++) {
      const dx = Math.min(x, 127 - x);
      const dy = Math.min(y, 127 - y);
      if (dx + dy <= 4 || dx < 1 || dy < 1) mask[y * 128 + x] = MASK_REASONS.edge;
    }
  }
  return { width: 128, height: 128, counts, mask };
}

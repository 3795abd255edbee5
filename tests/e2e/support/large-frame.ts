import { writeFile } from "node:fs/promises";
import { join } from "node:path";
import { npyBytes } from "../../../core/report/npy.ts";
import { poissonSource } from "../../support/random.ts";

/** Writes a frame of `side` x `side` pixels that falls off from its middle, and a plan for it. @returns the plan's file */
export async function writeLargeFrame(folder: string, side: number): Promise<string> {
  const poisson = poissonSource(side);
  const [x0, y0] = [0.48 * side, 0.52 * side];
  const counts = new Float64Array(side * side);
  for (let y = 0, p = 0; y < side; y++)
    for (let x = 0; x < side; x++, p++)
      counts[p] = poisson(40 / (1 + ((x - x0) ** 2 + (y - y0) ** 2) / (side / 12) ** 2));
  await writeFile(join(folder, "large.npy"), npyBytes(counts, { width: side, height: side }));
  const bins = { spacing: "log", count: 200, qMin: 0.005, qMax: 0.2 };
  const plan = {
    planVersion: 1,
    runs: { sample: "large.npy" },
    metadata: {
      all: {
        distance_m: 4,
        pixelSize_mm: [640 / side, 640 / side],
        wavelength_A: 6,
        beamCentre_px: [x0, y0],
      },
      sample: { countTime_s: 600 },
    },
    mask: { shapes: [{ kind: "circle", x: x0, y: y0, r: side / 40 }] },
    corrections: { normaliseBy: "time" },
    averages: [
      { id: "radial", kind: "radial", bins },
      { id: "flow", kind: "sector", centre_deg: 20, halfWidth_deg: 15, mirrored: true, bins },
    ],
  };
  const file = join(folder, "large.plan.json");
  await writeFile(file, JSON.stringify(plan));
  return file;
}

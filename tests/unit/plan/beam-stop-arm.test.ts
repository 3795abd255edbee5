import { expect, it } from "vitest";
import type { Plan } from "../../../core/model/plan.ts";
import { type BeamScene, countedFrame, expectedFrame } from "../../support/beam-scene.ts";
import { reduce } from "../../support/plan-experiment.ts";

const scene: BeamScene = {
  width: 64,
  height: 64,
  beam: { x: 32, y: 31.5 },
  halo: (dx, dy) => 40 + 400 * Math.exp(-(dx * dx + dy * dy) / 200),
  stop: { shape: "circle", x: 32, y: 31.5, size: 12, penumbra: 0.3 },
  level: 1,
};
const plan: Plan = {
  planVersion: 1,
  runs: { sample: "arm.npy" },
  metadata: { all: { wavelength_A: 6, distance_m: 4, pixelSize_mm: [5, 5], beamCentre_px: [32, 31.5] } },
  mask: { auto: ["beam-stop"] },
};

async function warningsOf(expected: Float64Array): Promise<string> {
  const { counts } = countedFrame(expected, scene.width, 9);
  const reduction = await reduce(plan, { "arm.npy": { width: scene.width, height: scene.height, counts } });
  return reduction.warnings.join("\n");
}

it("names dark pixels beside the stop, as behind its arm, and says nothing where there are none", async () => {
  const expected = expectedFrame(scene);
  expect(await warningsOf(expected)).not.toContain("arm or wires");
  for (let y = 32; y < scene.height; y++) for (let x = 31; x <= 33; x++) expected[y * scene.width + x] = scene.level;
  expect(await warningsOf(expected)).toMatch(
    /\d+ pixels beside the beam stop are far darker .* mask them with a shape/,
  );
});

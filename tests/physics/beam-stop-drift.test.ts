import { resolve } from "node:path";
import { describe, expect, it } from "vitest";
import { assessBeamStop } from "../../core/beam/assess-beam-stop.ts";
import type { Frame } from "../../core/model/frame.ts";
import { openRunFile } from "../../electron/services/run-source.ts";
import { SAMPLES } from "../support/reduce-sample.ts";

const signal = new AbortController().signal;

async function sampleFrame(name: string): Promise<Frame> {
  const run = await openRunFile(resolve(SAMPLES, name), {}, signal);
  if (!run.ok) throw new Error(run.fault.message);
  const frame = await run.value.banks[0]!.readFrame(0, signal);
  run.value.close();
  if (!frame.ok) throw new Error(frame.fault.message);
  return frame.value;
}

// Camera and stop as in samples/lantern.scene.json.
const known = {
  pixelSize: [0.005, 0.005],
  distance: 4,
  wavelength: 6,
  collimation: { sourceAperture: 0.01, sampleAperture: 0.006, length: 6 },
} as const;

describe("the drifting beam stop of the samples", () => {
  it.each([
    ["drift-1.h5", "covered"],
    ["drift-4.h5", "marginal"],
    // A few pixels of direct beam, which the fit of the outline takes for bad ones.
    ["drift-5.h5", "leaking"],
    // So much direct beam that no outline is left.
    ["drift-6.h5", "leaking"],
    // Strong anisotropy is no leak.
    ["rods-shear-300.h5", "covered"],
  ])("is judged on %s: %s", async (name, verdict) => {
    const report = assessBeamStop({
      ...known,
      frame: await sampleFrame(name),
      directBeam: await sampleFrame("direct.h5"),
    });
    expect(report.verdict).toBe(verdict);
  });
});

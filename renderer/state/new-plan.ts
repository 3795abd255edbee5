import type { Plan } from "../../core/plan/plan.ts";
import type { RunDescription } from "../worker/protocol.ts";

/**
 * The plan that a frame gets when it is opened without one. Everything that changes numbers stands in it, so that it can
 * be seen, switched off and saved: the automatic masks, and where the centre comes from.
 */
export function planForFrame(path: string, run: RunDescription): Plan {
  const centre = run.metadata.beamCentre ?? run.banks[0]?.metadata.beamCentre;
  return {
    planVersion: 1,
    runs: { sample: path },
    beamCentre: { method: centre === undefined || centre.guessed === true ? "symmetry" : "given" },
    mask: { auto: ["beam-stop", "hot", "dead"] },
    averages: [{ id: "radial", kind: "radial" }],
  };
}

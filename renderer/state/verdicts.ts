import type { Fault } from "../../core/model/result.ts";
import { stepsNotApplied } from "../../core/report/ledger-words.ts";
import { azimuthDegrees, readable } from "../../core/report/numbers.ts";
import type { ReductionView } from "../worker/protocol.ts";
import { flatness } from "./flatness.ts";
import { offsetInWords, stopOffset } from "./stop-offset.ts";
import type { Question } from "./view-settings.ts";

/** Drawn as a ring: filled, half, broken, dotted. "none": the question knows no states. */
export type VerdictState = "covered" | "marginal" | "leaking" | "cannot-tell" | "none";

export interface Verdict {
  readonly state: VerdictState;
  readonly sentence: string;
}

/** The sentence that answers a question, from what was computed; where nothing can be said, what is missing. */
export function verdictOf(question: Question, reduction: ReductionView | undefined, fault: Fault | undefined): Verdict {
  if (reduction === undefined)
    return {
      state: question === "beam-stop" ? "cannot-tell" : "none",
      sentence: fault === undefined ? "Open a frame to answer this" : "No answer: the plan could not be run",
    };
  switch (question) {
    case "beam-stop":
      return stopVerdict(reduction);
    case "anisotropy":
      return anisotropyVerdict(reduction);
    case "curves":
      return curvesVerdict(reduction);
  }
}

function stopVerdict({ beamStop, beamCentre, geometry }: ReductionView): Verdict {
  if (beamStop === undefined)
    return { state: "cannot-tell", sentence: "No stop outline: switch on the automatic beam-stop mask" };
  const offset = offsetInWords(stopOffset(beamStop, beamCentre, geometry));
  return { state: "cannot-tell", sentence: `Stop is ${offset} of the beam centre; cover not judged` };
}

/** At this reduced chi-square and above a profile is called uneven; below, flat within counting. */
const UNEVEN = 2;

function anisotropyVerdict({ profiles }: ReductionView): Verdict {
  const [profile] = profiles;
  if (profile === undefined) return { state: "none", sentence: "Add an annulus to see the intensity around the beam" };
  const found = flatness(profile);
  if (found === undefined) return { state: "none", sentence: `${profile.id} holds too few bins to compare` };
  const chi2 = `χ² ${readable(found.reducedChi2)} a bin`;
  if (found.reducedChi2 < UNEVEN)
    return { state: "none", sentence: `${profile.id}: flat within counting statistics, ${chi2}` };
  const highest = Math.round(azimuthDegrees(found.highest));
  const ratio = found.ratio === undefined ? "" : `, ${readable(found.ratio)} times the lowest`;
  return { state: "none", sentence: `${profile.id}: uneven, highest at ${highest}°${ratio}; ${chi2}` };
}

function curvesVerdict({ curves, unit, ledger }: ReductionView): Verdict {
  const [curve] = curves;
  if (curve === undefined) return { state: "none", sentence: "Add an average to see I(Q)" };
  const [first, last] = [curve.q[0], curve.q.at(-1)];
  if (first === undefined || last === undefined)
    return { state: "none", sentence: `${curve.id} is empty: every pixel is masked or outside its range` };
  const left = stepsNotApplied(ledger.steps).length;
  const rest = left === 0 ? "" : `; ${left} ${left === 1 ? "step" : "steps"} not applied`;
  return {
    state: "none",
    sentence: `I(Q) in ${unit} from ${readable(first)} to ${readable(last)} 1/Å, ${curve.q.length} points${rest}`,
  };
}


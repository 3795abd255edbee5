import { stepsNotApplied } from "../../core/report/ledger-words.ts";
import type { Answer, ReductionView } from "../worker/protocol.ts";
import type { Results } from "./results-store.ts";
import type { Question } from "./view-settings.ts";

/** Drawn as a ring: filled, half, broken, dotted. "none": the question knows no states. */
export type VerdictState = "covered" | "marginal" | "leaking" | "cannot-tell" | "none";

export interface Verdict {
  readonly state: VerdictState;
  readonly sentence: string;
}

export type VerdictGround = Pick<Results, "reduction" | "fault" | "anisotropy" | "stop">;

/** The sentence that answers a question, from what was computed; where nothing can be said, what is missing. */
export function verdictOf(question: Question, { reduction, fault, anisotropy, stop }: VerdictGround): Verdict {
  if (reduction === undefined)
    return {
      state: question === "beam-stop" ? "cannot-tell" : "none",
      sentence: fault === undefined ? "Open a frame to answer this" : "No answer yet: the line below says why",
    };
  switch (question) {
    case "beam-stop":
      return stopVerdict(stop);
    case "anisotropy":
      return anisotropyOf(reduction, anisotropy);
    case "curves":
      return curvesVerdict(reduction);
  }
}

function stopVerdict(stop: Answer<"assess-stop"> | undefined): Verdict {
  if (stop === undefined) return { state: "cannot-tell", sentence: "Looking for the shadow of the stop" };
  return { state: stop.verdict, sentence: stop.reason };
}

function anisotropyOf({ profiles, serial }: ReductionView, answer: Answer<"analyse"> | undefined): Verdict {
  const [profile] = profiles;
  if (profile === undefined) return { state: "none", sentence: "Add an annulus to measure anisotropy" };
  if (answer?.serial !== serial) return { state: "none", sentence: `Measuring ${profile.id}` };
  const annulus = answer.annuli.find(({ id }) => id === profile.id);
  const sentence = annulus?.verdict.sentence ?? "";
  return { state: annulus?.verdict.verdict === "cannot-tell" ? "cannot-tell" : "none", sentence };
}

function curvesVerdict({ curves, unit, ledger }: ReductionView): Verdict {
  const [curve] = curves;
  if (curve === undefined) return { state: "none", sentence: "Add an average to see I(Q)" };
  const [first, last] = [curve.q[0], curve.q.at(-1)];
  if (first === undefined || last === undefined)
    return { state: "none", sentence: `${curve.id} is empty: every pixel is masked or outside its range` };
  const left = stepsNotApplied(ledger.steps).length;
  const rest = left === 0 ? "every step applied" : `${left} ${left === 1 ? "step" : "steps"} not applied`;
  const range = `Q from ${first.toPrecision(2)} to ${last.toPrecision(2)} 1/Å`;
  return { state: "none", sentence: `I(Q) in ${unit}, ${range}; ${rest}` };
}

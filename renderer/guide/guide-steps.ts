import { type Verdict, type VerdictGround, verdictOf } from "../state/verdicts.ts";
import { GUIDE_STEPS, type Guide, type GuideStep, type Question, type ViewSettings } from "../state/view-settings.ts";

interface Step {
  readonly title: string;
  /** The question that is on show meanwhile; undefined: as it is. */
  readonly question?: Question;
  /** What to see and to try. */
  readonly words: string;
}

export const STEPS: Readonly<Record<GuideStep, Step>> = {
  frame: {
    title: "Frame and curve",
    question: "curves",
    words:
      "Point at the curve: the pixels that made this point light up in the frame. Point at the frame: the curve shows where that pixel went.",
  },
  "beam-stop": {
    title: "Beam stop",
    question: "beam-stop",
    words:
      "Is the stop where it should be? The ring before the answer is full, half, broken or dotted: covered, marginal, leaking, cannot tell.",
  },
  anisotropy: {
    title: "Anisotropy",
    question: "anisotropy",
    words:
      "Does it scatter more one way than another? Drag the edges of the annulus in the frame, and the answer follows.",
  },
  curves: {
    title: "Curves",
    question: "curves",
    words:
      "What is I(Q), and may one trust it? The ledger below says what each step did. Switch one off: the curve changes, and Undo brings it back.",
  },
  own: {
    title: "Your own frames",
    words: "Open a frame, or a plan with the frames that it names. Dropping them on the window does the same.",
  },
};

/** What to show of the view for a step. */
export function showing(step: GuideStep): Partial<ViewSettings> {
  const { question } = STEPS[step];
  return { guide: step, ...(question !== undefined && { question }) };
}

/**
 * The step on show; undefined: none. Before it was ever seen the way begins by itself, on the sample experiment alone: whoever
 * opens a frame of their own has come to look at it.
 */
export function stepOnShow(guide: Guide, isSampleExperiment: boolean): GuideStep | undefined {
  if (guide === "unseen") return isSampleExperiment ? "frame" : undefined;
  return guide === "closed" ? undefined : guide;
}

/** The step after or before; undefined: there is none. */
export function stepFrom(step: GuideStep, by: 1 | -1): GuideStep | undefined {
  return GUIDE_STEPS[GUIDE_STEPS.indexOf(step) + by];
}

/** What was found on show, in the words of the window; undefined: the step is not about results. */
export function answerOf(step: GuideStep, ground: VerdictGround): Verdict | undefined {
  if (step === "own") return undefined;
  if (step !== "frame") return verdictOf(step, ground);
  const { reduction } = ground;
  if (reduction === undefined) return undefined;
  const { width, height } = reduction.frame;
  const [curve] = reduction.curves;
  const became = curve === undefined ? "" : ` became the ${curve.q.length} points of ${curve.id}`;
  return { state: "none", sentence: `${reduction.sampleFile}, ${width} × ${height} pixels,${became}` };
}

import "./guide.css";
import { X } from "lucide-react";
import { useApplication, useDocument, useResults } from "../app/application.ts";
import { runCommand } from "../app/commands.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import { Keys } from "../app/parts/keys.tsx";
import { VerdictRing } from "../app/verdict-ring.tsx";
import { useKeys } from "../keys/use-keys.ts";
import { GUIDE_STEPS, type GuideStep } from "../state/view-settings.ts";
import { answerOf, STEPS, showing, stepFrom, stepOnShow } from "./guide-steps.ts";

/** A quiet strip that leads through the questions, on the results on show. It covers nothing. */
export function GuideStrip() {
  const guide = useDocument((state) => stepOnShow(state.view.guide, state.isSampleExperiment));
  const isReduced = useResults(({ reduction }) => reduction !== undefined);
  return guide === undefined || !isReduced ? null : <Strip step={guide} />;
}

function Strip({ step }: { readonly step: GuideStep }) {
  const application = useApplication();
  const reduction = useResults((state) => state.reduction);
  const fault = useResults((state) => state.fault);
  const stop = useResults((state) => state.stop);
  const anisotropy = useResults((state) => state.anisotropy);
  const keysOf = useKeys();
  const answer = answerOf(step, { reduction, fault, stop, anisotropy });
  const { title, words } = STEPS[step];
  const [before, after] = [stepFrom(step, -1), stepFrom(step, 1)];
  const { show } = application.document.getState();
  const close = () => {
    show({ guide: "closed" });
    // The strip goes with its buttons: the focus goes on to what it spoke of.
    window.document.querySelector<HTMLElement>('.question[aria-selected="true"]')?.focus();
  };

  return (
    <section className="guide" aria-label="First steps">
      <div className="guide-step" aria-live="polite">
        <h2 className="guide-title">
          <span className="guide-count">
            {GUIDE_STEPS.indexOf(step) + 1} of {GUIDE_STEPS.length}
          </span>
          {title}
        </h2>
        <p className="guide-words">
          {answer !== undefined && (
            <span className="guide-answer">
              <VerdictRing state={answer.state} /> {ended(answer.sentence)}{" "}
            </span>
          )}
          {words}
          {step === "own" && <Ways commands={keysOf("commands")} undo={keysOf("undo")} />}
        </p>
      </div>
      {step === "own" && (
        <button type="button" className="main-button" onClick={() => runCommand("open", application)}>
          Open a file <Keys keys={keysOf("open")} />
        </button>
      )}
      <button
        type="button"
        className="text-button"
        aria-disabled={before === undefined}
        onClick={() => before !== undefined && show(showing(before))}
      >
        Back
      </button>
      <button
        type="button"
        className="text-button guide-next"
        onClick={() => (after === undefined ? close() : show(showing(after)))}
      >
        {after === undefined ? "Done" : `Next: ${STEPS[after].title}`}
      </button>
      <IconButton icon={X} label="Close the first steps" onClick={close} />
    </section>
  );
}

function Ways({ commands, undo }: { readonly commands: string | undefined; readonly undo: string | undefined }) {
  return (
    <>
      {undo !== undefined && (
        <>
          {" "}
          <Keys keys={undo} /> takes back any change.
        </>
      )}
      {commands !== undefined && (
        <>
          {" "}
          <Keys keys={commands} /> lists all that can be done, these first steps too.
        </>
      )}
    </>
  );
}

function ended(sentence: string): string {
  return /[.!?]$/.test(sentence) ? sentence : `${sentence}.`;
}

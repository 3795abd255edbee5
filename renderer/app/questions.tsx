import { Tabs } from "@base-ui/react/tabs";
import { useKeys } from "../keys/use-keys.ts";
import { verdictOf } from "../state/verdicts.ts";
import { QUESTIONS, type Question } from "../state/view-settings.ts";
import { useDocument, useResults } from "./application.ts";
import { QUESTION_TITLES } from "./commands.ts";
import { Keys } from "./parts/keys.tsx";
import { VerdictRing } from "./verdict-ring.tsx";

/** Letters beyond which a sentence takes the smaller type, so that two lines hold it at the smallest window. */
const LONG_SENTENCE = 84;

/** The three questions, each with the sentence that answers it now. */
export function Questions() {
  const question = useDocument(({ view }) => view.question);
  const keysOf = useKeys();
  const show = useDocument((state) => state.show);
  const reduction = useResults((state) => state.reduction);
  const fault = useResults((state) => state.fault);
  const stop = useResults((state) => state.stop);
  const anisotropy = useResults((state) => state.anisotropy);

  return (
    <Tabs.Root
      value={question}
      onValueChange={(value: Question) => show({ question: value })}
      render={<section aria-label="Questions" />}
    >
      <Tabs.List className="questions" aria-label="Questions">
        {QUESTIONS.map((entry) => {
          const verdict = verdictOf(entry, { reduction, fault, anisotropy, stop });
          return (
            <Tabs.Tab key={entry} value={entry} className="question">
              <span className="question-title">
                {QUESTION_TITLES[entry]}
                <Keys keys={keysOf(`question-${entry}`)} />
              </span>
              <span
                className={verdict.sentence.length > LONG_SENTENCE ? "question-verdict long" : "question-verdict"}
                title={verdict.sentence}
                aria-live="polite"
              >
                <VerdictRing state={verdict.state} />
                <span>{verdict.sentence}</span>
              </span>
            </Tabs.Tab>
          );
        })}
      </Tabs.List>
    </Tabs.Root>
  );
}

import { Popover } from "@base-ui/react/popover";
import { ChevronDown, ChevronUp } from "lucide-react";
import type { LedgerEntry } from "../../core/model/ledger.ts";
import { readable } from "../../core/model/numbers.ts";
import { effectInWords, stepName } from "../../core/report/ledger-words.ts";
import { useApplication, useDocument, useResults } from "../app/application.ts";
import { runCommand } from "../app/commands.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import { ShowBeams } from "../direct-beams/show-beams.tsx";
import { useKeys } from "../keys/use-keys.ts";
import { faceOf } from "../state/ledger-face.ts";
import { planKeysInWords } from "../state/plan-words.ts";
import { stepFacts } from "../state/step-facts.ts";
import { CommonPart } from "./common-part.tsx";
import { StepNeeds } from "./step-needs.tsx";
import { StepSwitch } from "./step-switch.tsx";

/** What was done to the counts, step by step, in the order in which it was done. */
export function LedgerStrip() {
  const application = useApplication();
  const keysOf = useKeys();
  const open = useDocument(({ view }) => view.ledgerOpen);
  const ledger = useResults(({ reduction }) => reduction?.ledger);
  const warnings = useResults(({ reduction }) => reduction?.warnings) ?? [];
  const fault = useResults((state) => state.fault);
  const applied = ledger?.steps.filter(({ status }) => status === "applied").length ?? 0;

  return (
    <section className={open ? "ledger" : "ledger closed"} aria-label="Ledger">
      <div className="ledger-head">
        <IconButton
          icon={open ? ChevronDown : ChevronUp}
          label={open ? "Fold the ledger" : "Unfold the ledger"}
          keys={keysOf("ledger")}
          onClick={() => runCommand("ledger", application)}
        />
        <h2 className="ledger-title">Ledger</h2>
        {ledger !== undefined && (
          <span className="ledger-count">
            {applied} of {ledger.steps.length} steps applied
            {fault === undefined ? "" : "; of the last plan that could be run"}
          </span>
        )}
        <CommonPart common={ledger?.commonUncertainty} />
        {warnings.length > 0 && <Warnings warnings={warnings} />}
      </div>
      {open &&
        (ledger === undefined ? (
          <p className="teach">
            Every step from counts to I(Q) will stand here: what was done, with which number, from where, and what was
            not done and why.
          </p>
        ) : (
          <ol className="steps">
            {ledger.steps.map((entry) => (
              <StepCard key={entry.step} entry={entry} />
            ))}
          </ol>
        ))}
    </section>
  );
}

function StepCard({ entry }: { readonly entry: LedgerEntry }) {
  const applied = entry.status === "applied";
  const effect = effectInWords(entry.effect);
  const face = faceOf(entry);
  return (
    <li>
      <Popover.Root>
        <Popover.Trigger
          className={applied ? "step" : "step left-out"}
          data-step={entry.step}
          data-status={entry.status}
          title={entry.reason === undefined ? undefined : planKeysInWords(entry.reason)}
        >
          <span className="step-name">
            <span className="step-mark" aria-hidden />
            <span className="step-words">{face.name}</span>
          </span>
          <span className="step-line">{face.line}</span>
        </Popover.Trigger>
        <Popover.Portal>
          <Popover.Positioner className="floating-positioner" sideOffset={6} side="top">
            <Popover.Popup className="step-details">
              <Popover.Title className="details-title sentence">{stepName(entry.step)}</Popover.Title>
              <Popover.Description className="details-status">
                {applied ? "Applied" : "Not applied"}
                {entry.reason === undefined ? "" : `: ${planKeysInWords(entry.reason)}`}
              </Popover.Description>
              <dl className="facts">
                {stepFacts(entry).map(({ key, label, text, unit, source }) => (
                  <div key={key} className="fact">
                    <dt>{label}</dt>
                    <dd>
                      <span className="quantity">
                        {text}
                        {unit !== undefined && <span className="unit">{unit}</span>}
                      </span>
                      {source !== undefined && <span className="fact-source">{source}</span>}
                    </dd>
                  </div>
                ))}
                {effect !== "" && (
                  <div className="fact">
                    <dt>Effect</dt>
                    <dd>{effect}</dd>
                  </div>
                )}
                {entry.relativeSigma !== undefined && (
                  <div className="fact">
                    <dt>Relative σ, of all points</dt>
                    <dd className="quantity">{readable(entry.relativeSigma)}</dd>
                  </div>
                )}
              </dl>
              {entry.warnings.map((warning) => (
                <p key={warning} className="warning-line">
                  {planKeysInWords(warning)}
                </p>
              ))}
              <StepNeeds entry={entry} />
              <StepSwitch entry={entry} />
              {BEAM_STEPS.includes(entry.step) && <ShowBeams />}
            </Popover.Popup>
          </Popover.Positioner>
        </Popover.Portal>
      </Popover.Root>
    </li>
  );
}

/** Steps whose number comes from direct beams. */
const BEAM_STEPS: readonly string[] = ["transmission", "emptyCell", "absolute"];

function Warnings({ warnings }: { readonly warnings: readonly string[] }) {
  return (
    <Popover.Root>
      <Popover.Trigger className="text-button warnings-button">
        {warnings.length} {warnings.length === 1 ? "warning" : "warnings"}
      </Popover.Trigger>
      <Popover.Portal>
        <Popover.Positioner className="floating-positioner" sideOffset={6} side="top">
          <Popover.Popup className="step-details">
            <Popover.Title className="details-title">Warnings</Popover.Title>
            {warnings.map((warning) => (
              <p key={warning} className="warning-line">
                {planKeysInWords(warning)}
              </p>
            ))}
          </Popover.Popup>
        </Popover.Positioner>
      </Popover.Portal>
    </Popover.Root>
  );
}

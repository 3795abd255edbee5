import type { RunReference } from "../../core/plan/plan.ts";
import { useApplication, useDocument } from "../app/application.ts";
import { Choice } from "../app/parts/choice.tsx";
import { NumberBox } from "../app/parts/number-box.tsx";
import { Section } from "../app/parts/section.tsx";
import { TextBox } from "../app/parts/text-box.tsx";
import { ToggleRow } from "../app/parts/toggle-row.tsx";
import type { RunSourceChoice } from "../state/plan-actions.ts";
import { referencePath, runsOf } from "../state/plan-reading.ts";
import type { RunDescription } from "../worker/protocol.ts";

type FrameWay = "default" | "sum" | "one";

/** Which part of a file is the run's frame, and how its rows lie: where the reader's own choice is not the wanted one. */
export function SourceFields({
  path,
  run,
}: {
  readonly path: string;
  /** Undefined where the file could not be read that way. */
  readonly run: RunDescription | undefined;
}) {
  const { document } = useApplication();
  const reference = useDocument(({ history }) =>
    history === undefined ? undefined : referenceOf(runsOf(history.present.plan), path),
  );
  if (reference === undefined) return null;
  const { file: _file, ...source } = typeof reference === "string" ? { file: reference } : reference;
  const choice: RunSourceChoice = source;
  const set = (change: RunSourceChoice) =>
    document.getState().act({ type: "choose-source", path, source: { ...choice, ...change } });
  const frames = run?.banks[0]?.frames ?? 1;
  const way: FrameWay = choice.frame === undefined ? "default" : choice.frame === "sum" ? "sum" : "one";
  const isChosen = Object.values(choice).some((value) => value !== undefined);

  return (
    <Section title="What is read" open={isChosen} aside={run && <BankWords run={run} />}>
      <Choice
        label="Frame"
        value={way}
        options={[
          { value: "default", label: frames > 1 ? "Default (sum in time)" : "The only one" },
          { value: "sum", label: "Sum of all" },
          { value: "one", label: "One of them" },
        ]}
        onPick={(next) => set({ frame: next === "default" ? undefined : next === "sum" ? "sum" : 0 })}
      />
      {typeof choice.frame === "number" && (
        <div className="row">
          <NumberBox
            label={`Frame, from 0 to ${frames - 1}`}
            value={choice.frame}
            allows={(frame) => Number.isInteger(frame) && frame >= 0 && frame < frames}
            onChange={(frame) => set({ frame })}
          />
        </div>
      )}
      <TextBox
        label="Entry"
        value={choice.entry ?? ""}
        placeholder="default"
        onChange={(entry) => set({ entry: entry === "" ? undefined : entry })}
      />
      <TextBox
        label="Dataset"
        value={choice.dataset ?? ""}
        placeholder={run?.banks[0]?.path ?? "default"}
        onChange={(dataset) => set({ dataset: dataset === "" ? undefined : dataset })}
      />
      <Choice
        label="Rows"
        value={choice.rowOrder ?? "default"}
        options={[
          { value: "default", label: "As the format has it" },
          { value: "bottom-up", label: "First row at the bottom" },
          { value: "top-down", label: "First row at the top" },
        ]}
        onPick={(rowOrder) => set({ rowOrder: rowOrder === "default" ? undefined : rowOrder })}
      />
      <ToggleRow
        label="Rows are columns"
        note="transposed"
        on={choice.transpose ?? false}
        onChange={(on) => set({ transpose: on ? true : undefined })}
      />
    </Section>
  );
}

function BankWords({ run }: { readonly run: RunDescription }) {
  const [bank] = run.banks;
  if (bank === undefined) return null;
  const frames = bank.frames > 1 ? `, ${bank.frames} frames` : "";
  return <span className="section-count">{`${bank.width} × ${bank.height}${frames}`}</span>;
}

/** The same object as long as the plan's is: a selector must not make new ones. */
function referenceOf(runs: readonly { readonly reference: RunReference }[], path: string): RunReference | undefined {
  return runs.find(({ reference }) => referencePath(reference) === path)?.reference;
}

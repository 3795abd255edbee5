import { RotateCcw } from "lucide-react";
import { memo } from "react";
import { useApplication, useDocument, useResults } from "../app/application.ts";
import { Hint } from "../app/parts/hint.tsx";
import { IconButton } from "../app/parts/icon-button.tsx";
import { NumberBox } from "../app/parts/number-box.tsx";
import { Section } from "../app/parts/section.tsx";
import { baseName } from "../state/plan-file.ts";
import { referencePath, roleOf, samplesOf } from "../state/plan-reading.ts";
import { faultInWords } from "../state/plan-words.ts";
import { allows, type ShownNumber, shownNumbers } from "../state/shown-metadata.ts";
import type { RunDescription } from "../worker/protocol.ts";
import { SourceFields } from "./source-fields.tsx";

/** The numbers of the chosen run: each with its source, what is missing marked, all of them open to the plan. */
export function MetadataPanel() {
  const plan = useDocument(({ history }) => history?.present.plan);
  const sampleIndex = useDocument(({ view }) => view.sampleIndex);
  const selectedRun = useDocument(({ view }) => view.selectedRun);
  const sample = plan === undefined ? undefined : samplesOf(plan)[sampleIndex];
  const path = selectedRun ?? (sample === undefined ? undefined : referencePath(sample));
  const state = useResults(({ runs }) => (path === undefined ? undefined : runs[path]));
  if (plan === undefined || path === undefined) return null;

  const role = roleOf(plan, path);
  if (state === undefined || state.status === "reading")
    return (
      <Section title="Numbers of the run">
        <p className="teach">Reading {baseName(path)}</p>
      </Section>
    );
  if (state.status === "fault")
    return (
      <>
        <Section title="Numbers of the run">
          <p className="teach fault-text">{faultInWords(state.fault)}</p>
        </Section>
        <SourceFields key={path} path={path} run={undefined} />
      </>
    );
  const numbers = shownNumbers(plan, role ?? "sample", state.run);
  const missing = numbers.filter(({ field, values }) => field.need === "reduction" && values === undefined).length;
  return (
    <>
      <Section
        title="Numbers of the run"
        aside={missing > 0 ? <span className="section-count">{missing} missing</span> : undefined}
      >
        <RunWords run={state.run} />
        {role === undefined && <p className="teach">Give the run a role to change its numbers.</p>}
        {numbers.filter(isShown).map((shown) => (
          <NumberRow key={`${path}:${shown.field.key}`} shown={shown} disabled={role === undefined} />
        ))}
      </Section>
      <SourceFields key={path} path={path} run={state.run} />
    </>
  );
}

/** A condition of the sample has a row where something is known of it. */
function isShown({ field, values }: ShownNumber): boolean {
  return field.need !== "series" || values !== undefined;
}

function RunWords({ run }: { readonly run: RunDescription }) {
  const { title, sampleName, runNumber, startTime, instrument } = run.metadata;
  const words = [
    ["Title", title],
    ["Sample", sampleName],
    ["Run", runNumber],
    ["Started", startTime],
    ["Instrument", instrument],
  ] as const;
  const known = words.flatMap(([label, entry]) =>
    entry === undefined || entry.value === "" ? [] : [{ label, entry }],
  );
  return (
    <dl className="run-words">
      {known.map(({ label, entry }) => (
        <div key={label} className="word-row">
          <dt>{label}</dt>
          <Hint text={entry.from}>
            <dd>{entry.value}</dd>
          </Hint>
        </div>
      ))}
    </dl>
  );
}

interface NumberRowProps {
  readonly shown: ShownNumber;
  readonly disabled: boolean;
}

/** Drawn again only where its own number changed: a drag changes the plan at every step. */
const NumberRow = memo(
  NumberFields,
  (a, b) => a.disabled === b.disabled && JSON.stringify(a.shown) === JSON.stringify(b.shown),
);

function NumberFields({ shown, disabled }: NumberRowProps) {
  const { document } = useApplication();
  const { field, values, inFile, scope } = shown;
  const set = (value: number | readonly [number, number] | undefined) =>
    document.getState().act({ type: "set-metadata", scope, fileKey: field.fileKey, value });
  const setPart = (part: number) => (value: number) => {
    if (field.length === 1) return set(value);
    // The other half of a pair that isn't known yet takes the same value: pixels are square more often than not.
    const [first = value, second = value] = values ?? [];
    set(part === 0 ? [value, second] : [first, value]);
  };
  const parts = field.length === 1 ? [field.label] : [`${field.label}, x`, `${field.label}, y`];

  return (
    <div className={values === undefined ? "number-row missing" : "number-row"} data-field={field.fileKey}>
      <span className="number-label" title={field.label}>
        {shortLabel(field.label)}
      </span>
      <span className="number-fields">
        {parts.map((label, part) => (
          <NumberBox
            key={label}
            label={label}
            hideLabel
            value={values?.[part]}
            placeholder="missing"
            onChange={setPart(part)}
            onClear={shown.isFromPlan ? () => set(undefined) : undefined}
            allows={(value) => allows(field, value)}
            disabled={disabled}
          />
        ))}
        <span className="unit">{field.unit}</span>
      </span>
      <Source shown={shown} />
      {shown.isFromPlan && !disabled && (
        <IconButton
          icon={RotateCcw}
          label={`${field.label}: as in the file`}
          hint={
            inFile === undefined
              ? "Take out of the plan; the file has none"
              : `As in the file: ${inFile.map((value) => Number(value.toPrecision(7))).join(", ")}`
          }
          onClick={() => set(undefined)}
        />
      )}
    </div>
  );
}

/** "Wavelength spread (FWHM/mean)" has no room; what stands in brackets is in the tooltip. */
function shortLabel(label: string): string {
  return label.replace(/ \(.*\)$/, "");
}

function Source({ shown: { from, isGuessed, note, values } }: { readonly shown: ShownNumber }) {
  if (values === undefined) return <span className="number-source">not in the file, not in the plan</span>;
  return (
    <Hint text={note === undefined ? `From ${from}` : `From ${from}: ${note}`}>
      <span className="number-source">
        {isGuessed && <span className="guessed">guessed</span>}
        <bdi>{from}</bdi>
      </span>
    </Hint>
  );
}

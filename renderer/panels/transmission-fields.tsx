import type { PlanCorrections } from "../../core/plan/plan.ts";
import { useDocument } from "../app/application.ts";
import { NumberBox } from "../app/parts/number-box.tsx";
import { Pick } from "../app/parts/pick.tsx";
import { ToggleRow } from "../app/parts/toggle-row.tsx";
import { ShowBeams } from "../direct-beams/show-beams.tsx";

type Transmission = PlanCorrections["transmission"];
type Part = number | "measure" | "none" | undefined;
type Way = "default" | "measure" | "number" | "none";

const WAYS: readonly { readonly value: Way; readonly label: string }[] = [
  { value: "default", label: "Default" },
  { value: "measure", label: "Measured" },
  { value: "number", label: "A number" },
  { value: "none", label: "None" },
];

/** Transmissions of the sample and, where there is one, of the empty cell. */
export function TransmissionFields({
  value,
  set,
}: {
  readonly value: Transmission;
  readonly set: (value: Transmission) => void;
}) {
  const hasCell = useDocument(({ history }) => history?.present.plan.runs.emptyCell !== undefined);
  // A word for the whole correction stands for both of its parts.
  const parts = typeof value === "string" ? { sample: value, emptyCell: value } : (value ?? {});
  const isOn = parts.sample !== "none" || parts.emptyCell !== "none";
  const setPart = (key: "sample" | "emptyCell", part: Part) => {
    const next = Object.fromEntries(
      Object.entries({ ...parts, [key]: part }).filter(([, entry]) => entry !== undefined),
    );
    set(Object.keys(next).length === 0 ? undefined : next);
  };
  return (
    <>
      <PartFields label="Transmission" value={parts.sample} set={(part) => setPart("sample", part)} />
      {hasCell && (
        <PartFields label="Of empty cell" value={parts.emptyCell} set={(part) => setPart("emptyCell", part)} />
      )}
      <div className="row">
        <ShowBeams />
      </div>
      {isOn && (
        <ToggleRow
          label="Longer path at an angle"
          on={typeof value === "object" ? (value.obliquePath ?? false) : false}
          onChange={(obliquePath) => set({ ...parts, obliquePath })}
        />
      )}
    </>
  );
}

function PartFields({
  label,
  value,
  set,
}: {
  readonly label: string;
  readonly value: Part;
  readonly set: (value: Part) => void;
}) {
  const way: Way = typeof value === "number" ? "number" : (value ?? "default");
  const pick = (next: Way) => set(next === "number" ? 1 : next === "default" ? undefined : next);
  return (
    <div className="row">
      <span className="field-label">{label}</span>
      <Pick label={label} value={way} options={WAYS} onPick={pick} />
      {typeof value === "number" && (
        <NumberBox
          label={`${label}, number`}
          hideLabel
          value={value}
          allows={(number) => number > 0 && number <= 1}
          onChange={set}
        />
      )}
    </div>
  );
}

import { Popover } from "@base-ui/react/popover";
import { ChevronDown } from "lucide-react";
import type { ReactNode } from "react";
import { readable } from "../../core/model/numbers.ts";
import { useApplication, useCurves } from "../app/application.ts";
import { NumberBox } from "../app/parts/number-box.tsx";
import { Pick } from "../app/parts/pick.tsx";
import { ToggleRow } from "../app/parts/toggle-row.tsx";
import { type ChosenCurve, chosenMerged, chosenPair } from "./curve-choices.ts";
import { OPERATIONS, type Operation } from "./curves-store.ts";
import { MadeActions, MadePart } from "./made-part.tsx";

const NAMES: Readonly<Record<Operation, string>> = {
  merge: "Merge",
  scale: "Scale",
  subtract: "Subtract",
  rebin: "Rebin",
};
const HINTS: Readonly<Record<Operation, string>> = {
  merge: "Bring curves onto the first where they overlap, and join their points",
  scale: "Bring one curve onto another by one factor",
  subtract: "One curve less so many times another",
  rebin: "Fewer, wider bins; wider bins in the plan are better where there are few counts",
};
const MOST_BINS = 10_000;

/** Curves put together, or one of them rebinned, over the range that is brushed; and what came of it. */
export function TogetherPart({ choices }: { readonly choices: readonly ChosenCurve[] }) {
  const { curves } = useApplication();
  const state = useCurves((all) => all);
  const { other } = chosenPair(choices, state);
  const { operation, made } = state;
  const isPossible = operation === "rebin" ? choices.length > 0 : other !== undefined;
  return (
    <section className="curves-part" aria-label="Curves together">
      <div className="curves-part-head">
        <h3>Together</h3>
        <Pick
          label="What is done"
          value={operation}
          options={OPERATIONS.map((value) => ({ value, label: NAMES[value] }))}
          onPick={(next) => state.set({ operation: next })}
          narrow
        />
        {isPossible && <Reach operation={operation} />}
        {made !== undefined && <MadeActions />}
      </div>
      {isPossible ? (
        <div className="curves-actions">
          <Fields choices={choices} operation={operation} />
          <button type="button" className="text-button" title={HINTS[operation]} onClick={() => void curves.make()}>
            {NAMES[operation]}
          </button>
        </div>
      ) : (
        <p className="curves-hint">With a second curve, the two can be merged, scaled and subtracted.</p>
      )}
      {made !== undefined && <MadePart made={made} />}
    </section>
  );
}

/** Over which Q it is done. */
function Reach({ operation }: { readonly operation: Operation }) {
  const range = useCurves((state) => state.range);
  if (operation === "subtract") return null;
  const whole = operation === "rebin" ? "over all of it" : "where they overlap";
  return (
    <span className="curves-reach" title="Drag over the curve to choose a range; click beside it for all">
      {range === undefined ? whole : `${readable(range.low)} to ${readable(range.high)} 1/Å`}
    </span>
  );
}

function Fields({ choices, operation }: { readonly choices: readonly ChosenCurve[]; readonly operation: Operation }) {
  const state = useCurves((all) => all);
  const first = <CurvePick label="First curve" choices={choices} which="one" />;
  const second = <CurvePick label="Second curve" choices={choices} which="other" />;
  switch (operation) {
    case "merge":
      return (
        <>
          <MergedCurves choices={choices} />
          <And>onto</And>
          {first}
          <Pick
            label="What is fitted"
            value={state.withConstant ? "constant" : "scale"}
            options={[
              { value: "scale", label: "Scale only" },
              { value: "constant", label: "Scale and constant" },
            ]}
            onPick={(next) => state.set({ withConstant: next === "constant" })}
            narrow
          />
        </>
      );
    case "scale":
      return (
        <>
          {second}
          <And>onto</And>
          {first}
        </>
      );
    case "subtract":
      return (
        <>
          {first}
          <And>−</And>
          <NumberBox
            label="Factor"
            hideLabel
            value={state.factor}
            allows={(factor) => factor > 0}
            onChange={(factor) => state.set({ factor })}
          />
          <And>×</And>
          {second}
        </>
      );
    case "rebin":
      return (
        <>
          {first}
          <And>into</And>
          <NumberBox
            label="Bins"
            hideLabel
            value={state.bins.count}
            allows={(count) => Number.isInteger(count) && count >= 1 && count <= MOST_BINS}
            onChange={(count) => state.set({ bins: { ...state.bins, count } })}
          />
          <Pick
            label="Spacing"
            value={state.bins.spacing}
            options={[
              { value: "log", label: "Log bins" },
              { value: "linear", label: "Linear bins" },
            ]}
            onPick={(spacing) => state.set({ bins: { ...state.bins, spacing } })}
            narrow
          />
        </>
      );
  }
}

function And({ children }: { readonly children: ReactNode }) {
  return <span className="curves-and">{children}</span>;
}

function CurvePick({
  label,
  choices,
  which,
}: {
  readonly label: string;
  readonly choices: readonly ChosenCurve[];
  readonly which: "one" | "other";
}) {
  const state = useCurves((all) => all);
  const pair = chosenPair(choices, state);
  const chosen = pair[which];
  if (chosen === undefined) return null;
  const options = choices.map(({ key, label: name }) => ({ value: key, label: name }));
  return (
    <Pick
      label={label}
      value={chosen.key}
      options={which === "one" ? options : options.filter(({ value }) => value !== pair.one?.key)}
      onPick={(key) => state.set({ [which]: key })}
      narrow
    />
  );
}

/** Which curves are merged onto the first: one by name, or so many. */
function MergedCurves({ choices }: { readonly choices: readonly ChosenCurve[] }) {
  const state = useCurves((all) => all);
  const { one } = chosenPair(choices, state);
  const merged = chosenMerged(choices, state);
  const keys = merged.map(({ key }) => key);
  const toggle = (key: string, on: boolean) =>
    state.set({ merged: on ? [...keys, key] : keys.filter((entry) => entry !== key) });
  return (
    <Popover.Root>
      <Popover.Trigger className="pick narrow" aria-label="Curves that are merged">
        <span className="pick-value">{merged.length === 1 ? merged[0]?.label : `${merged.length} curves`}</span>
        <ChevronDown className="pick-arrow" size={14} aria-hidden />
      </Popover.Trigger>
      <Popover.Portal>
        <Popover.Positioner className="floating-positioner" sideOffset={4} side="top">
          <Popover.Popup className="menu list-menu">
            {choices
              .filter((choice) => choice !== one)
              .map(({ key, label }) => (
                <ToggleRow
                  key={key}
                  label={label}
                  on={keys.includes(key)}
                  disabled={keys.length === 1 && keys[0] === key}
                  onChange={(on) => toggle(key, on)}
                />
              ))}
          </Popover.Popup>
        </Popover.Positioner>
      </Popover.Portal>
    </Popover.Root>
  );
}

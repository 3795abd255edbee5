import { useState } from "react";
import type { CurveFormat } from "../../core/report/derived-curve.ts";
import { useApplication, useCurves } from "../app/application.ts";
import { Pick } from "../app/parts/pick.tsx";
import { type ChosenCurve, chosenPair } from "./curve-choices.ts";
import { type Combination, SAVE_FORMATS } from "./curves-question.ts";

const ACTIONS: readonly { readonly how: Combination; readonly label: string; readonly hint: string }[] = [
  { how: "merge", label: "Merge", hint: "Scale the second onto the first where they overlap, and join their points" },
  { how: "scale", label: "Scale", hint: "Bring the second onto the first by one factor" },
  { how: "subtract", label: "Subtract", hint: "The first minus the second" },
];
const FORMAT_NAMES: Readonly<Record<CurveFormat, string>> = {
  csv: "CSV",
  txt: "Text columns",
  xml: "canSAS XML",
  h5: "NXcanSAS",
};

/** Two curves put together, over the range that is brushed. */
export function PairPart({ choices }: { readonly choices: readonly ChosenCurve[] }) {
  const { curves } = useApplication();
  const state = useCurves((all) => all);
  const { one, other } = chosenPair(choices, state);
  const [format, setFormat] = useState<CurveFormat>("csv");
  const options = choices.map(({ key, label }) => ({ value: key, label }));
  return (
    <section className="curves-part" aria-label="Two curves together">
      <div className="curves-part-head">
        <h3>Together</h3>
        {one !== undefined && (
          <Pick
            label="First curve"
            value={one.key}
            options={options}
            onPick={(key) => state.set({ one: key })}
            narrow
          />
        )}
        {other !== undefined && (
          <Pick
            label="Second curve"
            value={other.key}
            options={options.filter(({ value }) => value !== one?.key)}
            onPick={(key) => state.set({ other: key })}
            narrow
          />
        )}
      </div>
      {other === undefined ? (
        <p className="curves-hint">With a second curve, the two can be merged, scaled and subtracted.</p>
      ) : (
        <div className="curves-actions">
          {ACTIONS.map(({ how, label, hint }) => (
            <button
              key={how}
              type="button"
              className="text-button"
              title={hint}
              onClick={() => void curves.combine(how)}
            >
              {label}
            </button>
          ))}
        </div>
      )}
      {state.made !== undefined && (
        <>
          <p className="curves-result" role="status">
            {state.made.words}
          </p>
          <div className="curves-actions">
            <Pick
              label="Format"
              value={format}
              options={SAVE_FORMATS.map((value) => ({ value, label: FORMAT_NAMES[value] }))}
              onPick={setFormat}
              narrow
            />
            <button type="button" className="text-button" onClick={() => void curves.save(format)}>
              Save it
            </button>
            <button type="button" className="text-button" onClick={() => state.set({ made: undefined })}>
              Let it go
            </button>
          </div>
        </>
      )}
    </section>
  );
}

import type { LedgerEntry } from "../../core/model/ledger.ts";
import type { PlanCorrections } from "../../core/plan/plan.ts";
import { useApplication, useDocument } from "../app/application.ts";
import { ToggleRow } from "../app/parts/toggle-row.tsx";
import { lastEmptyCell, lastSetting } from "../state/left-out.ts";
import type { PlanAction } from "../state/plan-actions.ts";
import { referencePath } from "../state/plan-reading.ts";

/** Steps that "none" in the plan leaves out, whatever else they are told. */
const SWITCHED = [
  "deadTime",
  "blockedBeam",
  "normaliseBy",
  "transmission",
  "solidAngle",
  "flood",
  "detectorAbsorption",
  "absolute",
  "gravity",
] as const;

/** What a step that was never asked for begins with: a start for a hand that will set the real one. */
const FIRST: Readonly<Partial<PlanCorrections>> = {
  deadTime: { model: "non-paralysable" },
  detectorAbsorption: { opticalDepth: 1 },
  absolute: { method: "direct-beam" },
  gravity: true,
};

/** What a step's switch would do; undefined where the plan has no way to. */
interface StepToggle {
  readonly on: boolean;
  readonly actions: readonly PlanAction[];
}

/** Leaves a step out, or takes it in again with what it was told when it was last on. */
export function StepSwitch({ entry }: { readonly entry: LedgerEntry }) {
  const { document } = useApplication();
  const toggle = useToggle(entry);
  if (toggle === undefined) return null;
  return (
    <ToggleRow
      label="In use"
      on={toggle.on}
      onChange={() => {
        for (const action of toggle.actions) document.getState().act(action, `switch:${entry.step}`);
        document.getState().endGesture();
      }}
    />
  );
}

function useToggle({ step, status }: LedgerEntry): StepToggle | undefined {
  const history = useDocument((state) => state.history);
  if (history === undefined) return undefined;
  const { runs, corrections } = history.present.plan;
  const applied = status === "applied";
  const key = SWITCHED.find((name) => name === step);
  if (key !== undefined) {
    const isOut = corrections?.[key] === "none";
    // What is not asked for begins with a setting of its own; what lacks a run is not a matter of a switch.
    const isUnasked = !applied && corrections?.[key] === undefined && key in FIRST;
    if (!applied && !isOut && !isUnasked) return undefined;
    const on = !isOut && !isUnasked;
    const value = on ? "none" : (lastSetting(history, key) ?? FIRST[key]);
    return { on, actions: [{ type: "set-correction", key, value }] };
  }
  if (step === "background_1cm" || step === "background") {
    const last = lastSetting(history, "background_1cm", (value) => value !== undefined && value !== 0);
    const isOn = (corrections?.background_1cm ?? 0) !== 0;
    if (!isOn && last === undefined) return undefined;
    return { on: isOn, actions: [{ type: "set-correction", key: "background_1cm", value: isOn ? 0 : last }] };
  }
  if (step === "emptyCell") {
    // The plan takes a cell off wherever it names one: without a role its runs stay in the list.
    const { emptyCell, emptyCellTransmission } = runs;
    const now = { emptyCell, emptyCellTransmission };
    const cell = emptyCell === undefined ? lastEmptyCell(history) : now;
    if (cell?.emptyCell === undefined) return undefined;
    const actions = (["emptyCell", "emptyCellTransmission"] as const).flatMap((role): readonly PlanAction[] => {
      const reference = cell[role];
      if (reference === undefined) return [];
      const path = referencePath(reference);
      if (emptyCell !== undefined) return [{ type: "set-role", path, role: undefined }];
      const { file: _file, ...source } = typeof reference === "string" ? { file: reference } : reference;
      return [
        { type: "set-role", path, role },
        { type: "choose-source", path, source },
      ];
    });
    return { on: emptyCell !== undefined, actions };
  }
  return undefined;
}

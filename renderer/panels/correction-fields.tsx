import type { PlanCorrections } from "../../core/plan/plan.ts";
import { useApplication, useDocument } from "../app/application.ts";
import { Choice } from "../app/parts/choice.tsx";
import { NumberBox } from "../app/parts/number-box.tsx";
import { Pick } from "../app/parts/pick.tsx";
import { ToggleRow } from "../app/parts/toggle-row.tsx";
import { lastSetting } from "../state/left-out.ts";

function useLastSetting<K extends keyof PlanCorrections>(key: K) {
  return useDocument(({ history }) => lastSetting(history, key));
}

interface Fields<K extends keyof PlanCorrections> {
  readonly value: PlanCorrections[K];
  readonly set: (value: PlanCorrections[K]) => void;
}

/** A start for a hand that will set the real one: that of a fast counter. */
const FIRST_TAU_S = 1e-6;

export function DeadTimeFields({ value, set }: Fields<"deadTime">) {
  const last = useLastSetting("deadTime");
  const dead = typeof value === "object" ? value : undefined;
  return (
    <>
      <Choice
        label="Dead time"
        value={dead?.model ?? "none"}
        options={[
          { value: "none", label: "None" },
          { value: "non-paralysable", label: "Non-paralysable" },
          { value: "paralysable", label: "Paralysable" },
        ]}
        onPick={(model) => set(model === "none" ? "none" : { tau_s: FIRST_TAU_S, ...last, model })}
      />
      {dead !== undefined && (
        <div className="row pair-row">
          <NumberBox
            label="Dead time"
            hideLabel
            value={dead.tau_s}
            unit="s"
            placeholder="of the file"
            allows={(tau) => tau >= 0}
            onChange={(tau_s) => set({ ...dead, tau_s })}
          />
          <Pick
            label="Dead time per"
            value={dead.per ?? "pixel"}
            options={[
              { value: "pixel", label: "Per pixel" },
              { value: "bank", label: "Per bank" },
            ]}
            onPick={(per) => set({ ...dead, per })}
          />
        </div>
      )}
    </>
  );
}

export function FloodFields({ value, set }: Fields<"flood">) {
  const last = useLastSetting("flood");
  const hasFlood = useDocument(({ history }) => history?.present.plan.runs.flood !== undefined);
  return (
    <>
      <ToggleRow
        label="Flood"
        note={hasFlood ? undefined : "no flood run"}
        on={value !== "none" && hasFlood}
        disabled={!hasFlood}
        onChange={(on) => set(on ? last : "none")}
      />
      {hasFlood && value !== "none" && (
        <div className="row">
          <NumberBox
            label="Smoothing"
            value={value?.smooth_px ?? 0}
            unit="px"
            allows={(smooth) => smooth >= 0}
            onChange={(smooth_px) => set({ smooth_px })}
          />
        </div>
      )}
    </>
  );
}

/** A start for a hand that will set the real one: a counter that misses a third of what comes straight. */
const FIRST_OPTICAL_DEPTH = 1;

export function DetectorAbsorptionFields({ value, set }: Fields<"detectorAbsorption">) {
  const last = useLastSetting("detectorAbsorption");
  const depth = typeof value === "object" ? value.opticalDepth : undefined;
  return (
    <>
      <ToggleRow
        label="Detector absorption"
        on={depth !== undefined}
        onChange={(on) => set(on ? (last ?? { opticalDepth: FIRST_OPTICAL_DEPTH }) : "none")}
      />
      {depth !== undefined && (
        <div className="row">
          <NumberBox
            label="Optical depth"
            value={depth}
            allows={(opticalDepth) => opticalDepth > 0}
            onChange={(opticalDepth) => set({ ...(typeof value === "object" && value), opticalDepth })}
          />
        </div>
      )}
    </>
  );
}

export function AbsoluteFields({ value, set }: Fields<"absolute">) {
  const { document } = useApplication();
  const scale = typeof value === "object" ? value : undefined;
  const pick = (method: "none" | "direct-beam" | "factor") => {
    if (method === "none") return set("none");
    const last = lastSetting(document.getState().history, "absolute", (setting) => setting?.method === method);
    set(last ?? (method === "factor" ? { method, value: 1 } : { method }));
  };
  return (
    <>
      <Choice
        label="Absolute scale"
        value={scale?.method ?? "none"}
        options={[
          { value: "none", label: "None" },
          { value: "direct-beam", label: "From the empty beam" },
          { value: "factor", label: "A given factor" },
        ]}
        onPick={pick}
      />
      {scale?.method === "factor" && (
        <div className="row pair-row">
          <NumberBox
            label="Factor"
            value={scale.value}
            allows={(factor) => factor > 0}
            onChange={(factor) => set({ ...scale, value: factor })}
          />
          <NumberBox
            label="±"
            fullLabel="Factor, one standard deviation"
            value={scale.sigma}
            placeholder="not known"
            allows={(sigma) => sigma >= 0}
            onChange={(sigma) => set({ ...scale, sigma })}
            onClear={() => set({ method: "factor", value: scale.value })}
          />
        </div>
      )}
      {scale?.method === "direct-beam" && (
        <div className="row">
          <NumberBox
            label="Beam radius"
            value={scale.directBeamRadius_px}
            unit="px"
            placeholder="auto"
            allows={(radius) => radius > 0}
            onChange={(directBeamRadius_px) => set({ ...scale, directBeamRadius_px })}
            onClear={() => set({ method: "direct-beam" })}
          />
        </div>
      )}
    </>
  );
}

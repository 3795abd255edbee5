import { PLAN_DEFAULTS } from "../../core/plan/defaults.ts";
import type { PlanCorrections } from "../../core/plan/plan.ts";
import { useApplication, useDocument } from "../app/application.ts";
import { NumberBox } from "../app/parts/number-box.tsx";
import { Pick } from "../app/parts/pick.tsx";
import { Section } from "../app/parts/section.tsx";
import { ToggleRow } from "../app/parts/toggle-row.tsx";
import { TransmissionFields } from "./transmission-fields.tsx";

/** The keys of the plan's corrections, in the order in which they work. */
export function CorrectionsPanel() {
  const { document } = useApplication();
  const exists = useDocument(({ history }) => history !== undefined);
  const corrections = useDocument(({ history }) => history?.present.plan.corrections) ?? {};
  if (!exists) return null;
  const set = <K extends keyof PlanCorrections>(key: K, value: PlanCorrections[K]) =>
    document.getState().act({ type: "set-correction", key, value });
  return (
    <Section title="Corrections">
      <DeadTimeFields value={corrections.deadTime} set={(value) => set("deadTime", value)} />
      <Choice
        label="Blocked beam"
        value={
          typeof corrections.blockedBeam === "object"
            ? corrections.blockedBeam.scaleBy
            : (corrections.blockedBeam ?? "default")
        }
        options={[
          { value: "default", label: "Default (by time)" },
          { value: "time", label: "Scaled by time" },
          { value: "monitor", label: "Scaled by monitor" },
          { value: "none", label: "None" },
        ]}
        onPick={(value) =>
          set("blockedBeam", value === "default" ? undefined : value === "none" ? "none" : { scaleBy: value })
        }
      />
      <Choice
        label="Normalise by"
        value={corrections.normaliseBy ?? "default"}
        options={[
          { value: "default", label: `Default (${PLAN_DEFAULTS.corrections.normaliseBy} where known)` },
          { value: "monitor", label: "Monitor" },
          { value: "time", label: "Time" },
          { value: "none", label: "Nothing" },
        ]}
        onPick={(value) => set("normaliseBy", value === "default" ? undefined : value)}
      />
      <TransmissionFields value={corrections.transmission} set={(value) => set("transmission", value)} />
      <Choice
        label="Solid angle"
        value={corrections.solidAngle ?? "default"}
        options={[
          { value: "default", label: `Default (${PLAN_DEFAULTS.corrections.solidAngle})` },
          { value: "exact", label: "Exact" },
          { value: "cosine-cubed", label: "Cosine cubed" },
          { value: "none", label: "None" },
        ]}
        onPick={(value) => set("solidAngle", value === "default" ? undefined : value)}
      />
      <FloodFields value={corrections.flood} set={(value) => set("flood", value)} />
      <AbsoluteFields value={corrections.absolute} set={(value) => set("absolute", value)} />
      <div className="row">
        <NumberBox
          label="Background"
          value={corrections.background_1cm ?? 0}
          unit="1/cm"
          onChange={(value) => set("background_1cm", value)}
        />
      </div>
    </Section>
  );
}

function Choice<T extends string>(props: Parameters<typeof Pick<T>>[0]) {
  return (
    <div className="row">
      <span className="field-label">{props.label}</span>
      <Pick {...props} />
    </div>
  );
}

interface Fields<K extends keyof PlanCorrections> {
  readonly value: PlanCorrections[K];
  readonly set: (value: PlanCorrections[K]) => void;
}

/** A start for a hand that will set the real one: that of a fast counter. */
const FIRST_TAU_S = 1e-6;

function DeadTimeFields({ value, set }: Fields<"deadTime">) {
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
        onPick={(model) => set(model === "none" ? "none" : { tau_s: FIRST_TAU_S, ...dead, model })}
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

function FloodFields({ value, set }: Fields<"flood">) {
  const hasFlood = useDocument(({ history }) => history?.present.plan.runs.flood !== undefined);
  return (
    <>
      <ToggleRow
        label="Flood"
        note={hasFlood ? undefined : "no flood run"}
        on={value !== "none" && hasFlood}
        disabled={!hasFlood}
        onChange={(on) => set(on ? undefined : "none")}
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

function AbsoluteFields({ value, set }: Fields<"absolute">) {
  const scale = typeof value === "object" ? value : undefined;
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
        onPick={(method) => set(method === "none" ? "none" : method === "factor" ? { method, value: 1 } : { method })}
      />
      {scale?.method === "factor" && (
        <div className="row">
          <NumberBox
            label="Factor"
            value={scale.value}
            allows={(factor) => factor > 0}
            onChange={(factor) => set({ ...scale, value: factor })}
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

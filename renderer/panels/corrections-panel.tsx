import { PLAN_DEFAULTS } from "../../core/plan/defaults.ts";
import type { PlanCorrections } from "../../core/plan/plan.ts";
import { useApplication, useDocument } from "../app/application.ts";
import { Choice } from "../app/parts/choice.tsx";
import { NumberBox } from "../app/parts/number-box.tsx";
import { Section } from "../app/parts/section.tsx";
import { ToggleRow } from "../app/parts/toggle-row.tsx";
import { AbsoluteFields, DeadTimeFields, DetectorAbsorptionFields, FloodFields } from "./correction-fields.tsx";
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
      <DetectorAbsorptionFields
        value={corrections.detectorAbsorption}
        set={(value) => set("detectorAbsorption", value)}
      />
      <AbsoluteFields value={corrections.absolute} set={(value) => set("absolute", value)} />
      <div className="row">
        <NumberBox
          label="Background"
          value={corrections.background_1cm ?? 0}
          unit="1/cm"
          onChange={(value) => set("background_1cm", value)}
        />
      </div>
      <ToggleRow
        label="Gravity"
        note="needs the collimation length"
        on={corrections.gravity === true}
        onChange={(on) => set("gravity", on ? true : "none")}
      />
    </Section>
  );
}

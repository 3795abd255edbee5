import type { ModelChoice } from "../../core/curves/model-choice.ts";
import { useCurves } from "../app/application.ts";
import { NumberBox } from "../app/parts/number-box.tsx";
import { Pick } from "../app/parts/pick.tsx";
import { MODEL_FIELDS, type ModelKind, STARTING_MODELS } from "./model-fields.ts";

const KINDS: readonly { readonly value: ModelKind | "none"; readonly label: string }[] = [
  { value: "none", label: "No model" },
  { value: "spheres", label: "Spheres" },
  { value: "core-shell", label: "Core and shell" },
  { value: "chain", label: "Gaussian chain" },
  { value: "rods", label: "Rods, all directions" },
];

/** A model's curve laid over, by its numbers; it is not fitted. */
export function ModelPart() {
  const model = useCurves((state) => state.model);
  const set = useCurves((state) => state.set);
  const values = new Map<string, unknown>(Object.entries(model ?? {}));
  return (
    <section className="curves-part" aria-label="Model">
      <div className="curves-part-head">
        <h3>Model</h3>
        <Pick
          label="Model"
          value={model?.kind ?? "none"}
          options={KINDS}
          onPick={(kind) => set({ model: kind === "none" ? undefined : STARTING_MODELS[kind] })}
          narrow
        />
      </div>
      {model === undefined ? (
        <p className="curves-hint">A particle's scattering drawn over the curve in 1/cm, not smeared.</p>
      ) : (
        <div className="model-fields">
          {MODEL_FIELDS[model.kind].map(({ key, label, unit, scale, allows }) => (
            <NumberBox
              key={key}
              label={label}
              value={Number(values.get(key)) / scale}
              {...(unit !== undefined && { unit })}
              allows={allows}
              onChange={(value) => set({ model: { ...model, [key]: value * scale } as ModelChoice })}
            />
          ))}
        </div>
      )}
    </section>
  );
}

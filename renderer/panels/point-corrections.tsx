import { Popover } from "@base-ui/react/popover";
import type { Curve, Profile } from "../../core/model/curve.ts";
import type { LedgerEntry } from "../../core/model/ledger.ts";
import { readable } from "../../core/model/numbers.ts";
import { stepName } from "../../core/report/ledger-words.ts";

export interface CorrectionEffect {
  readonly name: string;
  readonly text: string;
}

/**
 * What each applied step did to one point. A factor that is the same for all pixels is the point's own; of one that
 * varies the ledger keeps the range over the frame, and that is what is said.
 */
export function effectsOn(
  average: Curve | Profile,
  index: number,
  steps: readonly LedgerEntry[],
): readonly CorrectionEffect[] {
  return steps.flatMap(({ step, status, effect, parameters }): readonly CorrectionEffect[] => {
    if (status !== "applied") return [];
    const name = stepName(step);
    const cell = average.cell?.[index];
    if (step === "emptyCell" && cell !== undefined) {
      const total = (average.intensity[index] ?? Number.NaN) + cell;
      return [{ name, text: `took off ${readable(cell)} ${average.unit}, ${percent(cell / total)} of what was there` }];
    }
    const background = parameters["background_1cm"];
    if (typeof background === "number") return [{ name, text: `took off ${readable(background)} ${average.unit}` }];
    if (effect?.factorMin === undefined || effect.factorMax === undefined) return [];
    const [low, high] = [readable(effect.factorMin), readable(effect.factorMax)];
    return [{ name, text: low === high ? `factor ${low}` : `factor ${low} to ${high} over the frame` }];
  });
}

function percent(part: number): string {
  return Number.isFinite(part) ? `${readable(Number((100 * part).toPrecision(2)))} %` : "not known how much";
}

/** Behind a button, since there are as many as the plan has steps. */
export function PointCorrections({ effects }: { readonly effects: readonly CorrectionEffect[] }) {
  if (effects.length === 0) return null;
  return (
    <Popover.Root>
      <Popover.Trigger className="text-button">What each step did</Popover.Trigger>
      <Popover.Portal>
        <Popover.Positioner className="floating-positioner" sideOffset={6} side="top">
          <Popover.Popup className="step-details">
            <Popover.Title className="details-title">Corrections of this point</Popover.Title>
            <dl className="facts">
              {effects.map(({ name, text }) => (
                <div key={name} className="fact">
                  <dt>{name}</dt>
                  <dd>{text}</dd>
                </div>
              ))}
            </dl>
          </Popover.Popup>
        </Popover.Positioner>
      </Popover.Portal>
    </Popover.Root>
  );
}

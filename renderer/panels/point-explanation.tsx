import { X } from "lucide-react";
import type { Curve, Profile } from "../../core/model/curve.ts";
import { azimuthDegrees, readable, withSigma } from "../../core/report/numbers.ts";
import { useApplication, useResults } from "../app/application.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import type { CurveInterval } from "../view-types.ts";

/** What made the lit or the pinned point: pixels, counts, and the two ways to know its uncertainty. */
export function PointExplanation({ interval }: { readonly interval: CurveInterval | undefined }) {
  const { results } = useApplication();
  const point = useResults(({ lamp, pinned }) => lamp ?? pinned);
  const isPinned = useResults(({ lamp, pinned }) => lamp === undefined && pinned !== undefined);
  const reduction = useResults((state) => state.reduction);
  const average = [...(reduction?.curves ?? []), ...(reduction?.profiles ?? [])].find(({ id }) => id === point?.key);
  const facts = average === undefined || point === undefined ? undefined : factsOf(average, point.index);
  if (facts === undefined)
    return (
      <p className="explanation-hint">
        {interval === undefined
          ? "Point at the curve to light the pixels that made a point; click to keep its explanation."
          : `Chosen: Q from ${readable(interval.low)} to ${readable(interval.high)} 1/Å`}
      </p>
    );
  return (
    <dl className="explanation" data-point={point?.key}>
      {facts.map(({ label, text, unit }) => (
        <div key={label} className="explained">
          <dt>{label}</dt>
          <dd className="quantity">
            {text}
            {unit !== undefined && <span className="unit">{unit}</span>}
          </dd>
        </div>
      ))}
      {isPinned && (
        <IconButton
          icon={X}
          label="Let go of the point"
          onClick={() => results.getState().set({ pinned: undefined })}
        />
      )}
    </dl>
  );
}

interface ShownFact {
  readonly label: string;
  readonly text: string;
  readonly unit?: string;
}

function factsOf(average: Curve | Profile, index: number): readonly ShownFact[] | undefined {
  const at = (column: ArrayLike<number> | undefined) => column?.[index] ?? Number.NaN;
  if (!(index < average.intensity.length)) return undefined;
  const place: ShownFact =
    average.kind === "annulus"
      ? { label: "φ", text: readable(azimuthDegrees(at(average.phi))), unit: "°" }
      : { label: "Q", text: qInWords(at(average.q), at(average.qSigma)), unit: "1/Å" };
  return [
    { label: "Average", text: average.id },
    place,
    { label: "I", text: withSigma(at(average.intensity), at(average.sigma)), unit: average.unit },
    { label: "Pixels", text: String(at(average.pixels)) },
    { label: "Counts", text: String(at(average.counts)) },
    { label: "σ counting", text: readable(at(average.sigma)) },
    { label: "σ scatter", text: readable(at(average.scatterSigma)) },
  ];
}

function qInWords(q: number, sigma: number): string {
  return Number.isFinite(sigma) ? withSigma(q, sigma) : readable(q);
}

import type { Curve, Profile } from "../../core/model/curve.ts";
import { azimuthDegrees, readable, withSigma } from "../../core/model/numbers.ts";

/** What one point of an average is made of, and the two ways to know its uncertainty. */
export function PointExplanation({ average, index }: { readonly average: Curve | Profile; readonly index: number }) {
  return (
    <dl className="explanation">
      {factsOf(average, index).map(({ label, text, unit }) => (
        <div key={label} className={label === "I" ? "explained wide" : "explained"}>
          <dt>{label}</dt>
          <dd className="quantity">
            {text}
            {unit !== undefined && <span className="unit">{unit}</span>}
          </dd>
        </div>
      ))}
    </dl>
  );
}

interface ShownFact {
  readonly label: string;
  readonly text: string;
  readonly unit?: string;
}

function factsOf(average: Curve | Profile, index: number): readonly ShownFact[] {
  const at = (column: ArrayLike<number> | undefined) => column?.[index] ?? Number.NaN;
  const { unit } = average;
  const sigma = at(average.sigma);
  return [
    { label: "Average", text: average.id },
    ...placeOf(average, index),
    { label: "I", text: withSigma(at(average.intensity), sigma), unit },
    {
      label: average.zeroCounts[index] === 1 ? "σ of one count (nothing counted)" : "σ from counting",
      text: twoDigits(sigma),
      unit,
    },
    ...known("σ from scatter", at(average.scatterSigma), unit),
    ...known("χ² between pixels", at(average.chi2)),
    { label: "Pixels", text: String(at(average.pixels)) },
    { label: "Counts", text: String(at(average.counts)) },
  ];
}

function placeOf(average: Curve | Profile, index: number): readonly ShownFact[] {
  if (average.kind === "annulus")
    return [{ label: "φ", text: readable(azimuthDegrees(average.phi[index] ?? Number.NaN)), unit: "°" }];
  const q = average.q[index] ?? Number.NaN;
  return [{ label: "Q", text: readable(q), unit: "1/Å" }, ...known("ΔQ", average.qSigma?.[index] ?? Number.NaN, "1/Å")];
}

/** A bin of one pixel has no scatter, and some cameras no resolution: then there is nothing to show. */
function known(label: string, value: number, unit?: string): readonly ShownFact[] {
  if (!Number.isFinite(value)) return [];
  return [{ label, text: twoDigits(value), ...(unit === undefined ? {} : { unit }) }];
}

/** A sigma is not known better than to two digits. */
function twoDigits(value: number): string {
  return readable(Number(value.toPrecision(2)));
}

import type { ReactElement, ReactNode } from "react";
import { type MeasuredText, measured, significant } from "../number-format.ts";
import type { PlottedCurve } from "../view-types.ts";
import { abscissa } from "./transform.ts";

export interface PointExplanationProps {
  readonly curve: PlottedCurve;
  readonly index: number;
  /** What else is known of the point: the effect of each correction. */
  readonly children?: ReactNode;
}

/** What one point of a curve is made of. */
export function PointExplanation({ curve, index, children }: PointExplanationProps): ReactElement | null {
  const { data } = curve;
  const at = abscissa(data)[index];
  const intensity = data.intensity[index];
  const sigma = data.sigma[index];
  const pixels = data.pixels[index];
  const counts = data.counts[index];
  if (at === undefined || intensity === undefined || sigma === undefined) return null;
  const scatter = data.scatterSigma[index] ?? Number.NaN;
  const chi2 = data.chi2[index] ?? Number.NaN;
  const spread = data.kind === "annulus" ? undefined : data.qSigma?.[index];
  const value = measured(intensity, sigma);
  return (
    <dl className="point-explanation">
      <div className="point-explanation-title">
        <i className="curve-swatch" style={{ background: `var(--curve-${(curve.colourIndex ?? 0) % 8})` }} />
        {curve.label}
      </div>
      {data.kind === "annulus" ? (
        <Row name="φ" value={at.toFixed(1)} unit="°" />
      ) : (
        <Row name="Q" value={significant(at, 4)} unit="1/Å" />
      )}
      {spread !== undefined && Number.isFinite(spread) && <Row name="ΔQ" value={significant(spread, 2)} unit="1/Å" />}
      <Row name="I" {...value} unit={data.unit} />
      <Row name="σ from counting" value={significant(sigma, 2)} unit={data.unit} />
      <Row
        name="σ from scatter"
        value={Number.isFinite(scatter) ? significant(scatter, 2) : "one pixel"}
        unit={Number.isFinite(scatter) ? data.unit : ""}
      />
      <Row name="χ² between pixels" value={Number.isFinite(chi2) ? chi2.toFixed(2) : "one pixel"} unit="" />
      <Row name="Pixels" value={pixels === undefined ? "" : significant(pixels, 6)} unit="" />
      <Row name="Counts" value={counts === undefined ? "" : significant(counts, 9)} unit="" />
      {data.zeroCounts[index] === 1 && (
        <p className="point-explanation-note">A frame counted nothing here: σ stands for one count.</p>
      )}
      {children}
    </dl>
  );
}

function Row({ name, value, unit }: MeasuredText & { readonly name: string; readonly unit: string }): ReactElement {
  return (
    <div className="point-explanation-row">
      <dt>{name}</dt>
      <dd>
        <span className="number">{value}</span> <span className="unit">{unit}</span>
      </dd>
    </div>
  );
}

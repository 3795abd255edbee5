import { withSigma } from "../../../core/model/numbers.ts";

/** A number with its sigma and its unit in the muted colour; never more digits than the sigma supports. */
export function Quantity({
  value,
  sigma,
  unit,
}: {
  readonly value: number | undefined;
  readonly sigma?: number | undefined;
  readonly unit?: string;
}) {
  if (value === undefined || !Number.isFinite(value)) return <span className="quantity unknown">not known</span>;
  return (
    <span className="quantity">
      {withSigma(value, sigma)}
      {unit !== undefined && unit !== "" && <span className="unit">{unit}</span>}
    </span>
  );
}

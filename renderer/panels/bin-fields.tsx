import type { PlanBins } from "../../core/plan/plan.ts";
import { NumberBox } from "../app/parts/number-box.tsx";
import { NumbersBox } from "../app/parts/numbers-box.tsx";
import { Pick } from "../app/parts/pick.tsx";

type Spacing = "automatic" | "linear" | "log" | "edges";

const SPACINGS: readonly { readonly value: Spacing; readonly label: string }[] = [
  { value: "automatic", label: "Bins by default" },
  { value: "log", label: "Log bins" },
  { value: "linear", label: "Linear bins" },
  { value: "edges", label: "Bins by their edges" },
];
const EDGE_DIGITS = 4;

/** Bins of Q. `current` are the points that they make now: the start for a hand that will write the edges. */
export function BinFields({
  bins,
  current,
  onChange,
}: {
  readonly bins: PlanBins | undefined;
  readonly current: Float64Array | undefined;
  readonly onChange: (bins: PlanBins | undefined) => void;
}) {
  const spacing: Spacing = bins?.spacing ?? "automatic";
  const edges = edgesBetween(current);
  const options =
    edges === undefined ? SPACINGS.filter(({ value }) => value !== "edges" || value === spacing) : SPACINGS;
  const pick = (next: Spacing) => {
    if (next === spacing) return;
    if (next === "edges") return edges && onChange({ spacing: "edges", edges });
    if (next === "automatic") return onChange(undefined);
    onChange(bins?.spacing === "edges" ? { spacing: next, ...ends(bins.edges) } : { ...bins, spacing: next });
  };
  return (
    <>
      <Pick label="Bins" value={spacing} options={options} onPick={pick} />
      {bins?.spacing === "edges" && (
        <NumbersBox
          label="Edges of the bins, 1/Å"
          values={bins.edges}
          hint="At least two numbers in 1/Å, each larger than the one before"
          allows={isAscending}
          onChange={(next) => onChange({ spacing: "edges", edges: next })}
        />
      )}
      {bins !== undefined && bins.spacing !== "edges" && <SpacedFields bins={bins} onChange={onChange} />}
    </>
  );
}

function SpacedFields({
  bins,
  onChange,
}: {
  readonly bins: Extract<PlanBins, { readonly spacing: "linear" | "log" }>;
  readonly onChange: (bins: PlanBins) => void;
}) {
  return (
    <>
      <div className="row">
        <NumberBox
          label="Bins"
          value={bins.count}
          placeholder="default"
          allows={(value) => Number.isInteger(value) && value >= 1}
          onChange={(count) => onChange({ ...bins, count })}
          onClear={() => onChange({ ...bins, count: undefined })}
        />
      </div>
      <div className="row pair-row">
        <NumberBox
          label="Q from"
          value={bins.qMin}
          placeholder="auto"
          allows={(value) => value >= 0}
          onChange={(qMin) => onChange({ ...bins, qMin })}
          onClear={() => onChange({ ...bins, qMin: undefined })}
        />
        <NumberBox
          label="to"
          value={bins.qMax}
          unit="1/Å"
          placeholder="auto"
          allows={(value) => value > 0}
          onChange={(qMax) => onChange({ ...bins, qMax })}
          onClear={() => onChange({ ...bins, qMax: undefined })}
        />
      </div>
    </>
  );
}

/** As core's plan wants them. */
export function isAscending(edges: readonly number[]): boolean {
  return edges.length >= 2 && edges.every((edge, i) => edge >= 0 && (i === 0 || edge > (edges[i - 1] ?? 0)));
}

/** Edges half way between the points of a curve, in round numbers. Undefined where there are fewer than three. */
export function edgesBetween(q: Float64Array | undefined): readonly number[] | undefined {
  if (q === undefined || q.length < 3) return undefined;
  const edges: number[] = [];
  for (let i = 1; i < q.length; i++) {
    const edge = Number((((q[i - 1] ?? 0) + (q[i] ?? 0)) / 2).toPrecision(EDGE_DIGITS));
    if (edge > (edges.at(-1) ?? 0)) edges.push(edge);
  }
  return isAscending(edges) ? edges : undefined;
}

function ends(edges: readonly number[]) {
  return { qMin: edges[0], qMax: edges.at(-1) };
}

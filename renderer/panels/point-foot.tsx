import { X } from "lucide-react";
import { readable } from "../../core/model/numbers.ts";
import { useApplication, useResults } from "../app/application.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import type { CurveInterval, PlottedCurve } from "../view-types.ts";
import { PointCorrections } from "./point-corrections.tsx";
import { PointExplanation } from "./point-explanation.tsx";

/** Below the curve: what made the lit or the kept point, or else the chosen range. */
export function PointFoot({
  curves,
  interval,
}: {
  readonly curves: readonly PlottedCurve[];
  readonly interval: CurveInterval | undefined;
}) {
  const { results } = useApplication();
  const lit = useResults(({ lamp }) => lamp);
  const pinned = useResults((state) => state.pinned);
  const point = lit ?? pinned;
  const curve = curves.find(({ key }) => key === point?.key);
  if (point === undefined || curve === undefined || point.index >= curve.data.intensity.length)
    return (
      <p className="explanation-hint">
        {interval === undefined
          ? "Point at the curve to light the pixels that made a point; click to keep its explanation. Drag to choose a range."
          : `Chosen: from ${readable(interval.low)} to ${readable(interval.high)}`}
      </p>
    );
  return (
    <div className="pinned" data-point={point.key}>
      <PointExplanation average={curve.data} index={point.index} />
      {lit === undefined && <PointCorrections average={curve.data} index={point.index} />}
      {lit === undefined && (
        <IconButton
          icon={X}
          label="Let go of the point"
          onClick={() => results.getState().set({ pinned: undefined })}
        />
      )}
    </div>
  );
}

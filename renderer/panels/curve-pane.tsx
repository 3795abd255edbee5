import { Popover } from "@base-ui/react/popover";
import { ChartNoAxesGantt, Layers } from "lucide-react";
import { useEffect, useMemo, useRef, useState } from "react";
import { CurveFacet, isChartFacet } from "../anisotropy/curve-facet.tsx";
import { FACET_HINTS, FACET_LABELS, FACETS } from "../anisotropy/facets.ts";
import { SectorBar } from "../anisotropy/sector-bar.tsx";
import { useAnisotropy } from "../anisotropy/use-anisotropy.ts";
import { fitLines, sectorCurves } from "../anisotropy/view-curves.ts";
import { useApplication, useCurves, useDocument, useResults } from "../app/application.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import { Pick } from "../app/parts/pick.tsx";
import { ToggleRow } from "../app/parts/toggle-row.tsx";
import { CurveView, type CurveViewProbe } from "../curve/curve-view.tsx";
import { besideCurves } from "../curves-question/curve-choices.ts";
import { isBeside } from "../state/beside-curve.ts";
import type { ViewSettings } from "../state/view-settings.ts";
import type { AxisScale, CurveInterval, CurveTransform, PlottedCurve } from "../view-types.ts";
import type { FollowView, ReductionView } from "../worker/protocol.ts";
import { PointFoot } from "./point-foot.tsx";
import { shownAverages } from "./shown-averages.ts";

const TRANSFORMS = [
  { value: "i-q" as const, label: "I against Q" },
  { value: "lni-q2" as const, label: "ln I against Q²" },
  { value: "iq4-q" as const, label: "I Q⁴ against Q" },
  { value: "q2i-q" as const, label: "Q² I against Q" },
];
const AXIS_SCALES = (axis: string) => [
  { value: "linear" as const, label: `${axis} linear` },
  { value: "log" as const, label: `${axis} log` },
];

/** A curve keeps its colour whatever else is shown: its place among all averages of the plan decides. */
function plotted(results: ReductionView | FollowView | undefined, view: ViewSettings): readonly PlottedCurve[] {
  const order = results === undefined ? [] : [...results.curves, ...results.profiles].map(({ id }) => id);
  return shownAverages(results, view).map((data) => ({
    key: data.id,
    label: data.id,
    data,
    colourIndex: order.indexOf(data.id),
  }));
}

export function CurvePane() {
  const { document, results, lamp } = useApplication();
  const view = useDocument((state) => state.view);
  const reduction = useResults((state) => state.reduction);
  const lampPoint = useResults((state) => state.lamp);
  const [interval, setInterval] = useState<CurveInterval>();
  const handle = useRef<CurveViewProbe>(null);
  const { show } = document.getState();
  const isAnisotropy = view.question === "anisotropy";
  const chart = isAnisotropy && isChartFacet(view.facet) ? view.facet : undefined;
  const isSectors = isAnisotropy && view.facet === "sectors";
  const isProfile = isAnisotropy && !isSectors;
  const anisotropy = useAnisotropy();
  const beside = useCurves((state) => state);
  const axes = isProfile ? view.profileAxes : view.axes;
  const setAxes = (change: Partial<typeof axes>) =>
    show(isProfile ? { profileAxes: { ...axes, ...change } } : { axes: { ...axes, ...change } });
  const curves = useMemo(() => {
    if (isSectors) return sectorCurves(anisotropy);
    const averages = plotted(reduction, view);
    if (view.question === "curves")
      return [...averages, ...besideCurves(beside, reduction?.unit ?? "", reduction?.curves.length ?? 0)];
    return isProfile ? [...averages, ...fitLines(anisotropy, averages)] : averages;
  }, [reduction, view, isSectors, isProfile, anisotropy, beside]);
  const pinned = useResults((state) => state.pinned);

  // A drag goes past React: the curves of each answer are drawn in the next animation frame.
  useEffect(
    () =>
      results.subscribe((state, before) => {
        if (state.follow === before.follow || state.follow === undefined) return;
        const { view: shown } = document.getState();
        // The sectors along and across wait for the exact plan: no fast sums follow their axis.
        if (shown.question !== "anisotropy" || shown.facet !== "sectors")
          handle.current?.show(plotted(state.follow, shown));
      }),
    [results, document],
  );

  return (
    <section className="pane" aria-label="Curve">
      <div className="pane-bar">
        {isAnisotropy && (
          <Pick
            label="What is shown of the anisotropy"
            value={view.facet}
            options={FACETS.map((value) => ({ value, label: FACET_LABELS[value] }))}
            onPick={(facet) => show({ facet })}
            narrow
          />
        )}
        {!isProfile && (
          <Pick
            label="What is drawn"
            value={axes.transform}
            options={TRANSFORMS}
            onPick={(transform: CurveTransform) => setAxes({ transform, ...AXES_OF[transform] })}
            narrow
          />
        )}
        {!isProfile && (
          <Pick
            label="Axis x"
            value={axes.x}
            options={AXIS_SCALES("x")}
            onPick={(x: AxisScale) => setAxes({ x })}
            narrow
          />
        )}
        {chart === undefined && (
          <>
            <Pick
              label="Axis y"
              value={axes.y}
              options={AXIS_SCALES("y")}
              onPick={(y: AxisScale) => setAxes({ y })}
              narrow
            />
            <span className="bar-gap" />
            <IconButton
              icon={ChartNoAxesGantt}
              label="Error bars"
              pressed={view.errorBars}
              onClick={() => show({ errorBars: !view.errorBars })}
            />
            <span className="bar-end" />
            {!isSectors && <ShownCurves />}
          </>
        )}
      </div>
      <div className="pane-view">
        {chart !== undefined ? (
          <CurveFacet facet={chart} />
        ) : (
          <div className={isSectors ? "curve-place under-bar" : "curve-place"}>
            {isSectors && <SectorBar />}
            <CurveView
              ref={handle}
              curves={curves}
              axes={axes}
              errorBars={view.errorBars}
              interval={interval}
              onIntervalChange={(range, phase) => {
                setInterval(range);
                if (view.question === "curves" && phase === "end") beside.set({ range });
              }}
              lamp={isSectors ? undefined : (lampPoint ?? pinned)}
              onLamp={isSectors ? undefined : (point) => lamp.overPoint(isBeside(point?.key) ? undefined : point)}
              onExplain={
                isSectors
                  ? undefined
                  : (point) => {
                      // No pixel of the frame made a point that stands beside our own.
                      if (!isBeside(point.key)) results.getState().set({ pinned: point });
                    }
              }
            />
          </div>
        )}
      </div>
      <div className="pane-foot">
        {isAnisotropy && view.facet !== "profile" ? (
          <p className="explanation-hint">{FACET_HINTS[view.facet]}</p>
        ) : (
          <PointFoot curves={curves} interval={interval} />
        )}
      </div>
    </section>
  );
}

/** The scales on which each transform is a straight line, or at least usual. */
const AXES_OF: Readonly<Record<CurveTransform, { readonly x: AxisScale; readonly y: AxisScale }>> = {
  "i-q": { x: "log", y: "log" },
  "lni-q2": { x: "linear", y: "linear" },
  "iq4-q": { x: "linear", y: "linear" },
  "q2i-q": { x: "linear", y: "linear" },
  "i-phi": { x: "linear", y: "linear" },
};

/** Which averages are drawn; a list behind a button, since there may be many. */
function ShownCurves() {
  const { document } = useApplication();
  const hidden = useDocument(({ view }) => view.hidden);
  const question = useDocument(({ view }) => view.question);
  const reduction = useResults((state) => state.reduction);
  const all = (question === "anisotropy" ? reduction?.profiles : reduction?.curves) ?? [];
  if (all.length < 2) return null;
  const toggle = (id: string, on: boolean) =>
    document.getState().show({ hidden: on ? hidden.filter((entry) => entry !== id) : [...hidden, id] });
  return (
    <Popover.Root>
      <Popover.Trigger className="icon-button with-words" aria-label="Curves shown">
        <Layers size={16} strokeWidth={1.75} aria-hidden />
        {all.filter(({ id }) => !hidden.includes(id)).length} of {all.length}
      </Popover.Trigger>
      <Popover.Portal>
        <Popover.Positioner className="floating-positioner" sideOffset={4} align="end">
          <Popover.Popup className="menu list-menu">
            {all.map(({ id }) => (
              <ToggleRow key={id} label={id} on={!hidden.includes(id)} onChange={(on) => toggle(id, on)} />
            ))}
          </Popover.Popup>
        </Popover.Positioner>
      </Popover.Portal>
    </Popover.Root>
  );
}

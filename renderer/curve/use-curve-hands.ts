import type { KeyboardEvent, PointerEvent } from "react";
import { followDrag, within } from "../interaction/pointer-drag.ts";
import { useInAnimationFrame } from "../interaction/use-animation-frame.ts";
import type { CurveInterval, CurvePoint, CurveViewProps } from "../view-types.ts";
import type { CurvePlot } from "./curve-plot.ts";
import {
  abscissaOf,
  firstPoint,
  intervalBetween,
  type PlotLayout,
  placedCurve,
  pointNear,
  pointOnOtherCurve,
  steppedPoint,
} from "./layout.ts";

/** A press that moves less than this is a click, CSS px. */
const CLICK_REACH = 3;

export interface CurveHands {
  press(event: PointerEvent<HTMLElement>): void;
  move(event: PointerEvent<HTMLElement>): void;
  leave(): void;
  clear(): void;
  key(event: KeyboardEvent<HTMLElement>): void;
}

/**
 * Pointer: hover lights the nearest point, a drag brushes a range, a click explains a point, a double click clears the
 * range. Keys: left and right walk along the curve, up and down change the curve, [ and ] set the ends of the range at
 * the lit point, Delete clears it, Enter explains, Escape puts the lamp out.
 */
export function useCurveHands(plot: CurvePlot | undefined, props: CurveViewProps): CurveHands {
  const { curves, interval, lamp, onIntervalChange, onLamp, onExplain } = props;
  const light = useInAnimationFrame((point: CurvePoint | undefined) => {
    if (point?.key !== lamp?.key || point?.index !== lamp?.index) onLamp?.(point);
  });
  const clear = (): void => {
    if (interval) onIntervalChange?.(undefined, "end");
  };
  const setEnd = (end: keyof CurveInterval): void => {
    const curve = lamp && curves.find(({ key }) => key === lamp.key);
    if (!lamp || !curve || !plot) return;
    const value = Number(abscissaOf(curve, lamp.index).toPrecision(4));
    const { area } = plot.layout();
    const whole = interval ?? intervalBetween(plot.layout(), area.left, area.right);
    const next = { ...whole, [end]: value };
    if (next.low < next.high) onIntervalChange?.(next, "end");
  };
  const walk = (layout: PlotLayout, step: (from: CurvePoint) => CurvePoint): boolean => {
    const known = lamp && placedCurve(layout, lamp.key) ? lamp : undefined;
    const next = known ? step(known) : firstPoint(layout);
    if (next) onLamp?.(next);
    return true;
  };
  const act = (key: string, layout: PlotLayout): boolean => {
    switch (key) {
      case "ArrowLeft":
        return walk(layout, (from) => steppedPoint(layout, from, -1));
      case "ArrowRight":
        return walk(layout, (from) => steppedPoint(layout, from, 1));
      case "ArrowUp":
        return walk(layout, (from) => pointOnOtherCurve(layout, from, -1));
      case "ArrowDown":
        return walk(layout, (from) => pointOnOtherCurve(layout, from, 1));
      case "[":
        setEnd("low");
        return true;
      case "]":
        setEnd("high");
        return true;
      case "Delete":
      case "Backspace":
        clear();
        return true;
      case "Enter":
        if (lamp) onExplain?.(lamp);
        return true;
      case "Escape":
        if (!lamp) return false;
        onLamp?.(undefined);
        return true;
      default:
        return false;
    }
  };
  return {
    press: (event) => {
      if (event.button !== 0 || !plot) return;
      const root = event.currentTarget;
      const from = within(root, event);
      const { left, right, top, bottom } = plot.layout().area;
      if (from.x < left || from.x > right || from.y < top || from.y > bottom) return;
      let brushing = false;
      const brush = (x: number, phase: "drag" | "end"): void => {
        brushing ||= Math.abs(x - from.x) > CLICK_REACH;
        if (brushing) onIntervalChange?.(intervalBetween(plot.layout(), from.x, x), phase);
      };
      followDrag(event, root, {
        move: ({ x }) => brush(x, "drag"),
        end: (point) => {
          brush(point.x, "end");
          const clicked = brushing ? undefined : pointNear(plot.layout(), point);
          if (clicked) onExplain?.(clicked);
        },
        cancel: () => {
          if (brushing) onIntervalChange?.(interval, "end");
        },
      });
    },
    move: (event) => {
      if (plot && event.buttons === 0) light(pointNear(plot.layout(), within(event.currentTarget, event)));
    },
    leave: () => light(undefined),
    clear,
    key: (event) => {
      if (!plot || event.ctrlKey || event.metaKey || event.altKey || event.target !== event.currentTarget) return;
      if (!act(event.key, plot.layout())) return;
      event.preventDefault();
      event.stopPropagation();
    },
  };
}

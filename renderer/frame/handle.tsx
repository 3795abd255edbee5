import { type KeyboardEvent, type PointerEvent, type ReactElement, type ReactNode, useRef } from "react";
import { followDrag } from "../interaction/pointer-drag.ts";
import type { DragPhase } from "../view-types.ts";
import type { ScreenPoint } from "./display-transform.ts";
import { useStage } from "./stage-context.ts";

/** A step by key: -1, 0, 1 on the screen (y down), large with Shift. */
export interface KeyStep {
  readonly dx: number;
  readonly dy: number;
  readonly large: boolean;
}

export interface HandleProps {
  readonly at: ScreenPoint;
  readonly label: string;
  /** The value in words: "x 63.20, y 64.80". */
  readonly valueText: string;
  readonly valueNow: number;
  readonly cursor?: string | undefined;
  /** Half width of what can be grabbed, CSS px. */
  readonly reach?: number | undefined;
  readonly onDrag: (point: ScreenPoint, phase: DragPhase) => void;
  /** "end" comes when the key is released, with no step. */
  readonly onStep: (step: KeyStep, phase: DragPhase) => void;
  readonly onDelete?: (() => void) | undefined;
  readonly onPress?: (() => void) | undefined;
  readonly children?: ReactNode;
}

const ARROWS: Readonly<Record<string, readonly [number, number]>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

/** A place on the frame that can be dragged, or moved with the arrow keys. */
export function Handle(props: HandleProps): ReactElement {
  const { at, label, valueText, valueNow, cursor = "grab", reach = 11, onDrag, onStep, onDelete, onPress } = props;
  const { root } = useStage();
  const stepping = useRef(false);
  const latest = useRef(onDrag);
  latest.current = onDrag;
  const grabbed = (event: PointerEvent<SVGGElement>): void => {
    if (event.button !== 0) return;
    event.stopPropagation();
    onPress?.();
    // The hand seldom hits the middle: keep its distance, so that the handle does not jump.
    const box = root().getBoundingClientRect();
    const off = { x: at.x - (event.clientX - box.left), y: at.y - (event.clientY - box.top) };
    const place = (point: ScreenPoint): ScreenPoint => ({ x: point.x + off.x, y: point.y + off.y });
    followDrag(event, root(), {
      move: (point) => latest.current(place(point), "drag"),
      end: (point) => latest.current(place(point), "end"),
      cancel: () => latest.current(at, "end"),
    });
  };
  const finish = (): void => {
    if (!stepping.current) return;
    stepping.current = false;
    onStep({ dx: 0, dy: 0, large: false }, "end");
  };
  const pressed = (event: KeyboardEvent<SVGGElement>): void => {
    const arrow = ARROWS[event.key];
    if (arrow) {
      stepping.current = true;
      onStep({ dx: arrow[0], dy: arrow[1], large: event.shiftKey }, "drag");
    } else if (onDelete && (event.key === "Delete" || event.key === "Backspace")) onDelete();
    else return;
    event.preventDefault();
    event.stopPropagation();
  };
  return (
    <g
      className="frame-handle"
      transform={`translate(${at.x} ${at.y})`}
      style={{ cursor }}
      role="slider"
      tabIndex={0}
      aria-label={label}
      aria-valuenow={valueNow}
      aria-valuetext={valueText}
      onPointerDown={grabbed}
      onKeyDown={pressed}
      onKeyUp={finish}
      onBlur={finish}
      onFocus={onPress}
    >
      <circle className="frame-handle-reach" r={reach} />
      {props.children ?? <circle className="frame-handle-dot" r={4.5} />}
    </g>
  );
}

import type { FocusEvent, KeyboardEvent } from "react";
import type { ArrayPoint } from "../view-types.ts";
import type { Size } from "./display-transform.ts";
import type { DrawingControl } from "./use-drawing.ts";
import type { Hover } from "./use-hover.ts";
import type { Panning } from "./use-panning.ts";
import type { ViewportControl } from "./use-viewport.ts";

const PAN_STEP = 48; // CSS px
const ZOOM_STEP = 1.25;

export interface FrameKeys {
  down(event: KeyboardEvent): void;
  up(event: KeyboardEvent): void;
  blur(event: FocusEvent): void;
}

export interface FrameKeyOptions {
  readonly viewport: ViewportControl;
  readonly size: Size;
  readonly hover: Hover;
  readonly drawing: DrawingControl;
  readonly panning: Panning;
  readonly onFlip: ((by: 1 | -1) => void) | undefined;
  /** A step on the screen (y down) as a step of one pixel in array coordinates. */
  readonly stepOnArray: (dx: number, dy: number) => ArrayPoint;
}

/**
 * Keys of the frame: + - zoom, 0 fits, 1 is true size, arrows pan, with Shift they step the inspected pixel. A fitted
 * frame needs no panning: there, left and right go to the frame before and after, where there are some.
 */
export function useFrameKeys(options: FrameKeyOptions): FrameKeys {
  const { viewport, size, hover, drawing, panning, onFlip, stepOnArray } = options;
  const middle = { x: size.width / 2, y: size.height / 2 };
  const arrow = (dx: number, dy: number, shift: boolean): true => {
    if (shift) hover.step(stepOnArray(dx, dy));
    else if (onFlip && viewport.isFitted && dx !== 0) onFlip(dx > 0 ? 1 : -1);
    else viewport.pan({ x: -dx * PAN_STEP, y: -dy * PAN_STEP });
    return true;
  };
  const act = ({ key, shiftKey }: KeyboardEvent): boolean => {
    switch (key) {
      case "+":
      case "=":
        viewport.zoom(middle, ZOOM_STEP);
        return true;
      case "-":
        viewport.zoom(middle, 1 / ZOOM_STEP);
        return true;
      case "0":
        viewport.fit();
        return true;
      case "1":
        viewport.actualSize();
        return true;
      case "ArrowLeft":
        return arrow(-1, 0, shiftKey);
      case "ArrowRight":
        return arrow(1, 0, shiftKey);
      case "ArrowUp":
        return arrow(0, -1, shiftKey);
      case "ArrowDown":
        return arrow(0, 1, shiftKey);
      case " ":
        panning.holdSpace(true);
        return true;
      case "Enter":
        return drawing.place();
      case "Escape":
        return drawing.cancel();
      case "Backspace":
        return drawing.removeCorner();
      default:
        return false;
    }
  };
  return {
    down: (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey || event.target !== event.currentTarget) return;
      if (!act(event)) return;
      event.preventDefault();
      event.stopPropagation();
    },
    up: (event) => {
      if (event.key === " ") panning.holdSpace(false);
    },
    blur: () => panning.holdSpace(false),
  };
}

import { type PointerEvent, useEffect, useRef, useState } from "react";
import type { MaskShape } from "../../core/plan/plan.ts";
import { followDrag, within } from "../interaction/pointer-drag.ts";
import type { ArrayPoint, DrawTool } from "../view-types.ts";
import type { Size } from "./display-transform.ts";
import { begun, continued, type Drawing, shapeOf, withCorner, withoutLastCorner } from "./drawing.ts";
import { shapeInMiddle } from "./shape-edit.ts";
import { toArray, toScreen } from "./stage.ts";
import type { StageAccess } from "./stage-context.ts";

/** A click this near to the first corner closes a polygon, CSS px. */
const CLOSING_REACH = 9;
/** Corners nearer than this to each other are one, CSS px. */
const SAME_CORNER = 3;

export interface DrawingControl {
  readonly current: Drawing | undefined;
  press(event: PointerEvent<HTMLElement>): void;
  hover(at: ArrayPoint): void;
  /** Closes a polygon. */
  finish(): void;
  /** @returns false where nothing was being drawn */
  cancel(): boolean;
  removeCorner(): boolean;
  /** Places a shape in the middle of what is seen: the keyboard's way to draw. */
  place(): boolean;
}

export interface DrawingOptions {
  readonly tool: DrawTool;
  readonly frame: Size;
  readonly brushRadius: number;
  readonly stage: StageAccess;
  readonly onShapeAdd: ((shape: MaskShape) => void) | undefined;
}

export function useDrawing({ tool, frame, brushRadius, stage, onShapeAdd }: DrawingOptions): DrawingControl {
  const [drawing, setDrawing] = useState<Drawing>();
  const current = useRef<Drawing>(undefined);
  const set = (next: Drawing | undefined): void => {
    current.current = next;
    setDrawing(next);
  };
  // Another tool starts afresh.
  // biome-ignore lint/correctness/useExhaustiveDependencies: the tool is what this waits for
  useEffect(() => {
    current.current = undefined;
    setDrawing(undefined);
  }, [tool]);

  const add = (): void => {
    const shape = current.current && shapeOf(current.current);
    set(undefined);
    if (shape) onShapeAdd?.(shape);
  };
  const pressPolygon = (polygon: Extract<Drawing, { tool: "polygon" }> | undefined, at: ArrayPoint): void => {
    if (!polygon) {
      set(begun("polygon", at, frame, brushRadius));
      return;
    }
    const now = stage.now();
    const [first] = polygon.corners;
    const here = toScreen(now, at);
    const start = first && toScreen(now, first);
    if (start && polygon.corners.length > 2 && Math.hypot(here.x - start.x, here.y - start.y) < CLOSING_REACH) add();
    else set(withCorner(polygon, at, SAME_CORNER / now.view.scale));
  };
  return {
    current: drawing,
    press: (event) => {
      if (tool === "select") return;
      const root = event.currentTarget;
      const at = toArray(stage.now(), within(root, event));
      const known = current.current;
      if (tool === "polygon") {
        pressPolygon(known?.tool === "polygon" ? known : undefined, at);
        return;
      }
      set(begun(tool, at, frame, brushRadius));
      followDrag(event, root, {
        move: (point) => {
          if (current.current) set(continued(current.current, toArray(stage.now(), point)));
        },
        end: (point) => {
          if (!current.current) return;
          set(continued(current.current, toArray(stage.now(), point)));
          add();
        },
        cancel: () => set(undefined),
      });
    },
    hover: (at) => {
      if (current.current?.tool === "polygon") set(continued(current.current, at));
    },
    finish: () => {
      if (current.current?.tool === "polygon") add();
    },
    cancel: () => {
      if (!current.current) return false;
      set(undefined);
      return true;
    },
    removeCorner: () => {
      if (current.current?.tool !== "polygon") return false;
      set(withoutLastCorner(current.current));
      return true;
    },
    place: () => {
      if (current.current?.tool === "polygon") {
        add();
        return true;
      }
      if (tool === "select" || tool === "brush") return false;
      const { view, size } = stage.now();
      const reach = (0.1 * Math.min(size.width, size.height)) / view.scale;
      const x = Math.min(frame.width - 1, Math.max(0, view.x));
      const y = Math.min(frame.height - 1, Math.max(0, view.y));
      onShapeAdd?.(shapeInMiddle(tool, { x, y }, reach));
      return true;
    },
  };
}

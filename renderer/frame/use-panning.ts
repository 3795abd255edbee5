import { type PointerEvent, useRef } from "react";
import { followDrag, within } from "../interaction/pointer-drag.ts";
import type { DrawTool } from "../view-types.ts";
import type { ViewportControl } from "./use-viewport.ts";

export interface Panning {
  /** True for a press that moves the picture: middle button, Space held, or the background while nothing draws. */
  takes(event: PointerEvent, tool: DrawTool): boolean;
  start(event: PointerEvent<HTMLElement>): void;
  spaceHeld(): boolean;
  holdSpace(held: boolean): void;
}

export function usePanning(viewport: ViewportControl): Panning {
  const space = useRef(false);
  return {
    takes: (event, tool) => event.button === 1 || (event.button === 0 && (space.current || tool === "select")),
    start: (event) => {
      const root = event.currentTarget;
      let last = within(root, event);
      const follow = (point: { readonly x: number; readonly y: number }): void => {
        viewport.pan({ x: point.x - last.x, y: point.y - last.y });
        last = point;
      };
      followDrag(event, root, {
        move: follow,
        end: (point) => {
          if (point.x !== last.x || point.y !== last.y) follow(point);
        },
      });
    },
    spaceHeld: () => space.current,
    holdSpace: (held) => {
      space.current = held;
    },
  };
}

import { useRef } from "react";
import { useInAnimationFrame } from "../interaction/use-animation-frame.ts";
import type { ArrayPoint } from "../view-types.ts";
import type { Size } from "./display-transform.ts";

export interface Hover {
  to(pixel: ArrayPoint | undefined): void;
  /** Moves the inspected pixel by keys; the first time from the middle of the frame. */
  step(by: ArrayPoint): void;
}

/** The inspected pixel: told once an animation frame, and only when it is another one. */
export function useHover(onHover: ((pixel: ArrayPoint | undefined) => void) | undefined, size: Size): Hover {
  const current = useRef<ArrayPoint>(undefined);
  const told = useRef<ArrayPoint>(undefined);
  const tell = useInAnimationFrame((pixel: ArrayPoint | undefined) => {
    if (told.current?.x === pixel?.x && told.current?.y === pixel?.y) return;
    told.current = pixel;
    onHover?.(pixel);
  });
  const to = (pixel: ArrayPoint | undefined): void => {
    current.current = pixel;
    tell(pixel);
  };
  return {
    to,
    step: (by) => {
      const from = current.current ?? { x: Math.floor(size.width / 2), y: Math.floor(size.height / 2) };
      const x = Math.min(size.width - 1, Math.max(0, from.x + by.x));
      const y = Math.min(size.height - 1, Math.max(0, from.y + by.y));
      to({ x, y });
    },
  };
}

import type { PointerEvent } from "react";

export interface PointOnScreen {
  readonly x: number;
  readonly y: number;
}

export interface DragFollower {
  /** At most once an animation frame. */
  move(point: PointOnScreen): void;
  /** Once; not after `cancel`. */
  end(point: PointOnScreen): void;
  /** The browser took the pointer away. */
  cancel?(): void;
}

/**
 * Follows a pressed pointer until it is released. Moves are gathered into one call an animation frame.
 * @param origin element whose upper left corner is (0, 0), CSS px
 */
export function followDrag(event: PointerEvent<Element>, origin: Element, follower: DragFollower): void {
  const element = event.currentTarget;
  const { pointerId } = event;
  let last = within(origin, event);
  let requested = 0;
  const onMove = (moved: Event): void => {
    if (!isPointer(moved, pointerId)) return;
    last = within(origin, moved);
    if (requested !== 0) return;
    requested = requestAnimationFrame(() => {
      requested = 0;
      follower.move(last);
    });
  };
  const stop = (): void => {
    if (requested !== 0) cancelAnimationFrame(requested);
    element.removeEventListener("pointermove", onMove);
    element.removeEventListener("pointerup", onUp);
    element.removeEventListener("pointercancel", onCancel);
  };
  const onUp = (released: Event): void => {
    if (!isPointer(released, pointerId)) return;
    stop();
    follower.end(within(origin, released));
  };
  const onCancel = (cancelled: Event): void => {
    if (!isPointer(cancelled, pointerId)) return;
    stop();
    follower.cancel?.();
  };
  element.setPointerCapture(pointerId);
  element.addEventListener("pointermove", onMove);
  element.addEventListener("pointerup", onUp);
  element.addEventListener("pointercancel", onCancel);
}

export function within(origin: Element, event: { readonly clientX: number; readonly clientY: number }): PointOnScreen {
  const box = origin.getBoundingClientRect();
  return { x: event.clientX - box.left, y: event.clientY - box.top };
}

function isPointer(event: Event, pointerId: number): event is globalThis.PointerEvent {
  return event instanceof globalThis.PointerEvent && event.pointerId === pointerId;
}

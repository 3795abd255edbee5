import { useCallback, useEffect, useMemo, useRef, useState } from "react";
import { useStore } from "zustand";
import {
  fitted,
  type Layout,
  panned,
  type ScreenPoint,
  type Size,
  type Viewport,
  zoomedAt,
} from "./display-transform.ts";
import { createViewLink, type ViewLink, viewFor } from "./view-link.ts";

export interface ViewportControl {
  readonly view: Viewport;
  /** The whole frame is in sight, neither panned nor zoomed. */
  readonly isFitted: boolean;
  fit(): void;
  actualSize(): void;
  zoom(at: ScreenPoint, factor: number): void;
  pan(by: ScreenPoint): void;
}

/**
 * Which part of the frame is in sight. A view is fitted until it is panned or zoomed, and again when another frame
 * (`frameId`) or another shape of frame comes. Changes between two animation frames are shown as one.
 * @param shared what other stages show the same part by; the frames may differ in shape then
 */
export function useViewport(frameId: string, layout: Layout, size: Size, shared?: ViewLink): ViewportControl {
  const shape = [layout.width, layout.height, layout.transpose, layout.pixelAspect].join("|");
  const key = shared === undefined ? `${frameId}|${shape}` : frameId;
  const [own] = useState(createViewLink);
  const link = shared ?? own;
  const chosen = useStore(link, (state) => state.chosen);
  const whole = useMemo(() => fitted(layout, size), [layout, size]);
  const view = useMemo(
    () => (chosen?.key === key ? viewFor(chosen, layout, size) : whole),
    [chosen, key, layout, size, whole],
  );
  const latest = useRef({ key, layout, size, view, link, request: 0 });
  // While a change waits for its animation frame, the view that it leads to is newer than the one shown.
  if (latest.current.request === 0 || latest.current.key !== key) latest.current.view = view;
  Object.assign(latest.current, { key, layout, size, link });

  const change = useCallback((next: (view: Viewport, layout: Layout, size: Size) => Viewport | undefined): void => {
    const { current } = latest;
    const wanted = next(current.view, current.layout, current.size);
    current.view = wanted ?? fitted(current.layout, current.size);
    if (current.request !== 0) cancelAnimationFrame(current.request);
    const { key: ofFrame, layout: form, size: room, link: where } = current;
    current.request = requestAnimationFrame(() => {
      current.request = 0;
      where.setState({ chosen: wanted && { key: ofFrame, view: wanted, layout: form, size: room } });
    });
  }, []);
  useEffect(() => () => cancelAnimationFrame(latest.current.request), []);

  return {
    view,
    isFitted: view === whole,
    fit: useCallback(() => change(() => undefined), [change]),
    actualSize: useCallback(
      () =>
        change((now, form, room) =>
          zoomedAt(form, now, room, { x: room.width / 2, y: room.height / 2 }, 1 / now.scale),
        ),
      [change],
    ),
    zoom: useCallback((at, factor) => change((now, form, room) => zoomedAt(form, now, room, at, factor)), [change]),
    pan: useCallback((by) => change((now, form, room) => panned(form, now, room, by)), [change]),
  };
}

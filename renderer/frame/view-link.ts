import { createStore, type StoreApi } from "zustand/vanilla";
import { fitted, type Layout, type Size, type Viewport } from "./display-transform.ts";

/** What is in sight, and of what frame and in what room that was said. */
export interface LinkedView {
  readonly key: string;
  readonly view: Viewport;
  readonly layout: Layout;
  readonly size: Size;
}

/** Shared by stages that show the same part of their frames; undefined: the whole. */
export type ViewLink = StoreApi<{ readonly chosen: LinkedView | undefined }>;

export function createViewLink(): ViewLink {
  return createStore<{ readonly chosen: LinkedView | undefined }>()(() => ({ chosen: undefined }));
}

/**
 * The same part of another frame: the same share of its width and height in the middle, zoomed as much against the whole.
 * Frames of one size in rooms of one size get the very same numbers.
 */
export function viewFor({ view, layout, size }: LinkedView, other: Layout, room: Size): Viewport {
  const isSameFrame = layout.width === other.width && layout.height === other.height;
  if (
    isSameFrame &&
    layout.pixelAspect === other.pixelAspect &&
    size.width === room.width &&
    size.height === room.height
  )
    return view;
  return {
    x: ((view.x + 0.5) / layout.width) * other.width - 0.5,
    y: ((view.y + 0.5) / layout.height) * other.height - 0.5,
    scale: (view.scale / fitted(layout, size).scale) * fitted(other, room).scale,
  };
}

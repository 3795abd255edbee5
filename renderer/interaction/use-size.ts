import { type RefObject, useEffect, useState } from "react";

export interface ElementSize {
  readonly width: number;
  readonly height: number;
}

/** Size of an element's content, whole CSS px; undefined until it is laid out or while it is hidden. */
export function useSize(element: RefObject<HTMLElement | null>): ElementSize | undefined {
  const [size, setSize] = useState<ElementSize>();
  useEffect(() => {
    const { current } = element;
    if (!current) return;
    const observer = new ResizeObserver(([entry]) => {
      if (!entry) return;
      const width = Math.floor(entry.contentRect.width);
      const height = Math.floor(entry.contentRect.height);
      setSize(width > 0 && height > 0 ? { width, height } : undefined);
    });
    observer.observe(current);
    return () => observer.disconnect();
  }, [element]);
  return size;
}

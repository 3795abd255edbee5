import type { PlotStyle } from "./painter.ts";

const CURVE_COLOURS = 8;

/** What the style sheet says about plots. */
export function readPlotStyle(element: Element): PlotStyle {
  const style = getComputedStyle(element);
  const read = (name: string): string => style.getPropertyValue(name).trim();
  return {
    line: read("--line"),
    text: read("--text"),
    muted: read("--muted"),
    accent: read("--accent"),
    curves: Array.from({ length: CURVE_COLOURS }, (_, i) => read(`--curve-${i}`)),
    numbers: read("--font-numbers"),
  };
}

/** Calls `changed` when the theme changes or the fonts have come. @returns the way to stop */
export function watchPlotStyle(changed: () => void): () => void {
  const observer = new MutationObserver(changed);
  observer.observe(document.documentElement, { attributes: true, attributeFilter: ["data-theme", "class", "style"] });
  const scheme = window.matchMedia("(prefers-color-scheme: light)");
  scheme.addEventListener("change", changed);
  document.fonts.addEventListener("loadingdone", changed);
  return () => {
    observer.disconnect();
    scheme.removeEventListener("change", changed);
    document.fonts.removeEventListener("loadingdone", changed);
  };
}

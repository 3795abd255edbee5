import type { ResidualPart } from "../../core/anisotropy/residual-parts.ts";

/** What the curve's place shows while the anisotropy question is on. */
export const FACETS = ["profile", "sectors", "spectrum", "series", "measures"] as const;
export type Facet = (typeof FACETS)[number];

export const FACET_LABELS: Readonly<Record<Facet, string>> = {
  profile: "I against φ",
  sectors: "Along and across",
  spectrum: "Against Q",
  series: "Through the series",
  measures: "All measures",
};

/** What there is to know of a facet, below it. */
export const FACET_HINTS: Readonly<Record<Exclude<Facet, "profile">, string>> = {
  sectors: "Sectors on both sides of the beam. All measures tells what other half-widths cost.",
  spectrum: "Bars are one standard deviation. An axis stands only where a ring is proved anisotropic.",
  series: "The first annulus of every sample of the plan. Bars are one standard deviation.",
  measures: "Each value with one standard deviation, and what it presumes of the sample.",
};

/** What the frame shows: its counts, or a part of the residual. */
export const FRAME_LAYERS = ["counts", "whole", "even", "odd"] as const satisfies readonly ("counts" | ResidualPart)[];
export type FrameLayer = (typeof FRAME_LAYERS)[number];

export const LAYER_LABELS: Readonly<Record<FrameLayer, string>> = {
  counts: "Counts",
  whole: "Residual",
  even: "Residual, even part",
  odd: "Residual, odd part",
};

export const LAYER_HINTS: Readonly<Record<FrameLayer, string>> = {
  counts: "What the detector counted",
  whole: "Frame minus its radial average, in sigmas",
  even: "What half a turn keeps: anisotropy",
  odd: "What half a turn reverses: a wrong centre, leaks, an uneven detector",
};

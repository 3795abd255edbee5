import type { Curve, Profile } from "../model/curve.ts";
import type { Reduction } from "../plan/reduction.ts";
import { isProfile } from "./average-table.ts";
import { beamFigure } from "./beam-figure.ts";
import type { CurveView } from "./figures/curve-axes.ts";
import { curveFigure } from "./figures/curve-figure.ts";
import { frameFigure } from "./figures/frame-figure.ts";
import { profileFigure } from "./figures/profile-figure.ts";
import { stepName, stepsNotApplied } from "./ledger-words.ts";

/** A figure of a reduction: its file name without ending, and the SVG. */
export interface ReductionFigure {
  readonly name: string;
  readonly caption: string;
  readonly svg: string;
}

/** The counts, the corrected intensity, the curves together, every average that has points, and the direct beams. */
export function reductionFigures(reduction: Reduction): readonly ReductionFigure[] {
  const averages = [...reduction.curves, ...reduction.profiles].filter((average) => average.intensity.length > 0);
  return [
    countsFigure(reduction),
    intensityFigure(reduction),
    ...overlayFigures(reduction),
    ...averages.map((one) => averageFigure(one, reduction)),
    ...reduction.directBeams.map(beamFigure),
  ];
}

/** All curves on one pair of axes, to compare: along and across an axis, say. None for a single curve. */
function overlayFigures(reduction: Reduction): readonly ReductionFigure[] {
  const curves = reduction.curves.filter((curve) => curve.q.length > 0);
  if (curves.length < 2) return [];
  return [
    {
      name: "curves",
      caption: "All curves; bars are one standard deviation from counting",
      svg: curveFigure({
        title: reduction.title,
        series: curves.map((curve) => ({ label: curve.id, curve })),
        unit: reduction.unit,
        view: viewOf(curves),
        notes: faceNotes(reduction),
      }),
    },
  ];
}

function countsFigure({ title, sampleFile, frame, maps, geometry, beamStop }: Reduction): ReductionFigure {
  return {
    name: "frame",
    caption: "Registered counts, with rings of equal Q, the beam centre and the outline of the beam stop",
    svg: frameFigure({
      title,
      values: frame.counts,
      mask: maps.mask,
      quantity: { label: "Counts", unit: "" },
      scale: "log",
      geometry,
      ...(beamStop && { outline: beamStop }),
      notes: [`Run: ${sampleFile}. Counts as registered: no correction applied`],
    }),
  };
}

function intensityFigure(reduction: Reduction): ReductionFigure {
  const { title, maps, geometry, beamStop, unit } = reduction;
  return {
    name: "intensity",
    caption: "Corrected intensity of each pixel",
    svg: frameFigure({
      title: `${title}, corrected`,
      values: maps.intensity,
      mask: maps.mask,
      quantity: { label: "I", unit },
      scale: "log",
      geometry,
      ...(beamStop && { outline: beamStop }),
      notes: faceNotes(reduction),
    }),
  };
}

function averageFigure(average: Curve | Profile, reduction: Reduction): ReductionFigure {
  const shared = {
    title: `${reduction.title}, ${average.id}`,
    unit: average.unit,
    notes: faceNotes(reduction),
  };
  if (isProfile(average)) {
    return {
      name: `profile-${average.id}`,
      caption: `${average.id}: intensity against azimuth; bars are one standard deviation from counting`,
      svg: profileFigure({ ...shared, series: [{ label: average.id, profile: average }] }),
    };
  }
  return {
    name: `curve-${average.id}`,
    caption: `${average.id}: intensity against Q; bars are one standard deviation from counting`,
    svg: curveFigure({ ...shared, series: [{ label: average.id, curve: average }], view: viewOf([average]) }),
  };
}

/** Logarithmic, but for a box that runs across the beam centre: there Q has both signs. */
function viewOf(curves: readonly Curve[]): CurveView {
  const allPositive = curves.every(({ q }) => q.every((value) => value > 0));
  return { transform: "i-q", x: allPositive ? "log" : "linear", y: "log" };
}

/** What stands on the face of a figure of corrected data: the run, since a batch shares one title, and what was not applied. */
function faceNotes({ ledger, sampleFile }: Reduction): readonly string[] {
  const missing = stepsNotApplied(ledger.steps).map(({ step }) => stepName(step));
  return [`Run: ${sampleFile}`, ...(missing.length === 0 ? [] : [`Not applied: ${missing.join(", ")}`])];
}

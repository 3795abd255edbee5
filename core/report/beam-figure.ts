import type { SummedBeam } from "../plan/reduction.ts";
import { frameFigure } from "./figures/frame-figure.ts";
import type { ReductionFigure } from "./reduction-figures.ts";

const ROLE_WORDS = {
  emptyBeam: "empty beam",
  sampleTransmission: "direct beam through the sample",
  emptyCellTransmission: "direct beam through the empty cell",
} as const satisfies Readonly<Record<SummedBeam["role"], string>>;

/** Side of the part that is drawn, in radii of the circle: the beam, and enough around it to see what the circle leaves out. */
const SIDE_IN_RADII = 4;

/** The spot of a direct beam with the circle in which it was summed. */
export function beamFigure({ role, file, frame, geometry, circle }: SummedBeam): ReductionFigure {
  const half = (SIDE_IN_RADII / 2) * circle.radius;
  const [left, right] = part(circle.x, half, frame.width);
  const [top, bottom] = part(circle.y, half, frame.height);
  const width = right - left;
  const height = bottom - top;
  const values = new Float64Array(width * height);
  const mask = new Uint16Array(width * height);
  for (let y = 0; y < height; y++) {
    const from = (top + y) * frame.width + left;
    values.set(frame.counts.subarray(from, from + width), y * width);
    mask.set(frame.mask.subarray(from, from + width), y * width);
  }
  const centre = { x: circle.x - left, y: circle.y - top };
  return {
    name: `beam-${role}`,
    caption: `The ${ROLE_WORDS[role]} and the circle in which its counts were summed`,
    svg: frameFigure({
      title: `Beam of ${file}`,
      values,
      mask,
      quantity: { label: "Counts", unit: "" },
      scale: "log",
      geometry: { ...geometry, width, height, beamCentre: centre },
      origin: { column: left, row: top },
      outline: { shape: "circle", ...centre, radius: circle.radius },
      notes: [`Run: ${file}, ${ROLE_WORDS[role]}. Counts as registered`],
    }),
  };
}

/** First and last but one pixel of the part around `middle`, within a frame of `size` pixels; at least one. */
function part(middle: number, half: number, size: number): readonly [number, number] {
  const first = Math.min(Math.max(0, Math.floor(middle - half)), size - 1);
  return [first, Math.max(first + 1, Math.min(size, Math.ceil(middle + half) + 1))];
}

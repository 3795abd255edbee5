import { type Axis, fractionAlong } from "./axis.ts";
import { INK, NOTE_SIZE, TEXT_SIZE } from "./palette.ts";
import { at, type Box, element, FIGURES, labelText } from "./svg.ts";

/** Mean width of a digit of Atkinson Hyperlegible Mono, in parts of the text size. */
const DIGIT_WIDTH = 0.62;
const TICK = 3.5;
const SMALL_TICK = 2;
const GAP = 2.5;

/** Room that the numbers and the title of a vertical axis take to its left. */
export function roomLeftOf(axis: Axis): number {
  const longest = Math.max(0, ...axis.ticks.map(({ label }) => shownLength(label ?? "")));
  return TEXT_SIZE + 2 * GAP + longest * DIGIT_WIDTH * NOTE_SIZE + GAP;
}

/** Room that the numbers and the title of a horizontal axis take below it. */
export const ROOM_BELOW = NOTE_SIZE + TEXT_SIZE + 3 * GAP + 3;

function shownLength(label: string): number {
  const [base, power] = label.split("^");
  return base!.length + 0.75 * (power?.length ?? 0);
}

export interface PlacedAxes {
  readonly box: Box;
  readonly x: Axis;
  readonly y: Axis;
}

export function placeX({ box, x }: PlacedAxes, value: number): number {
  return box.left + fractionAlong(x, value) * box.width;
}

export function placeY({ box, y }: PlacedAxes, value: number): number {
  return box.top + (1 - fractionAlong(y, value)) * box.height;
}

/** Frame, ticks, numbers and titles of both axes. */
export function plotFrame(axes: PlacedAxes): string {
  const { box, x, y } = axes;
  const bottom = box.top + box.height;
  const marks: string[] = [];
  const labels: string[] = [];
  for (const { value, label } of x.ticks) {
    const across = placeX(axes, value);
    marks.push(`M${at(across)} ${at(bottom)}v${at(label === undefined ? -SMALL_TICK : -TICK)}`);
    if (label !== undefined) {
      labels.push(labelText({ x: across, y: bottom + GAP + NOTE_SIZE * 0.9, "text-anchor": "middle" }, label));
    }
  }
  for (const { value, label } of y.ticks) {
    const down = placeY(axes, value);
    marks.push(`M${at(box.left)} ${at(down)}h${at(label === undefined ? SMALL_TICK : TICK)}`);
    if (label !== undefined) {
      labels.push(labelText({ x: box.left - GAP, y: down + NOTE_SIZE * 0.34, "text-anchor": "end" }, label));
    }
  }
  const middle = box.top + box.height / 2;
  const left = box.left - roomLeftOf(y) + TEXT_SIZE;
  return [
    element("path", { d: marks.join("") || "M0 0", stroke: INK.text, "stroke-width": 0.6, fill: "none" }),
    element("rect", {
      x: box.left,
      y: box.top,
      width: box.width,
      height: box.height,
      stroke: INK.text,
      "stroke-width": 0.6,
      fill: "none",
    }),
    element("g", { "font-family": FIGURES, "font-size": NOTE_SIZE, fill: INK.text }, labels.join("\n") || " "),
    labelText({ x: box.left + box.width / 2, y: bottom + ROOM_BELOW - GAP - 1, "text-anchor": "middle" }, x.title),
    labelText(
      { x: left, y: middle, "text-anchor": "middle", transform: `rotate(-90 ${at(left)} ${at(middle)})` },
      y.title,
    ),
  ].join("\n");
}

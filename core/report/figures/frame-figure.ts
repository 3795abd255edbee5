import type { Geometry } from "../../model/geometry.ts";
import type { StopOutline } from "../../plan/reduction.ts";
import { base64 } from "../base64.ts";
import { type AxisSpec, makeAxis } from "./axis.ts";
import { type ColourScale, colourScaleFor } from "./colour-scale.ts";
import { colourStrip, frameImage } from "./frame-image.ts";
import { frameOverlay } from "./frame-overlay.ts";
import { EDGE, notesBlock, titleBlock } from "./notes.ts";
import { COLUMN_WIDTH, INK, NOTE_SIZE, TEXT_SIZE } from "./palette.ts";
import { pictureOf } from "./picture.ts";
import { plotFrame, ROOM_BELOW, roomLeftOf } from "./plot-frame.ts";
import { at, type Box, clipped, element, FIGURES, figure, labelText, plainText } from "./svg.ts";

export interface FrameFigureOptions {
  readonly title: string;
  /** One entry a pixel, in stored order. */
  readonly values: ArrayLike<number>;
  readonly mask: Uint16Array;
  /** What the values are: "Counts", or "I" with its unit. */
  readonly quantity: { readonly label: string; readonly unit: string };
  readonly scale: "linear" | "log";
  /** Colours between these ends, through white at 0, for values of either sign. Absent: from the values. */
  readonly diverging?: { readonly low: number; readonly high: number };
  readonly geometry: Geometry;
  /** Outline of the stop, or of whatever else is to be seen in the frame. */
  readonly outline?: StopOutline;
  /** Column and row of the first value, where the values are a part of a frame. */
  readonly origin?: { readonly column: number; readonly row: number };
  /** What a reader must know, for the face of the figure. */
  readonly notes: readonly string[];
}

const TALLEST = 240;
const BAR_WIDTH = 9;
const BAR_GAP = 8;

/**
 * A frame with its colour scale, the rings of equal Q, the beam centre and the stop, as SVG one column wide. It stands as
 * `rowOrder` and `transpose` say; the axes count stored columns and rows.
 */
export function frameFigure(options: FrameFigureOptions): string {
  const { title, values, mask, quantity, scale, geometry, notes, origin = { column: 0, row: 0 } } = options;
  const picture = pictureOf(geometry, geometry);
  const colours: ColourScale | undefined = options.diverging
    ? { scale: "linear", palette: "diverging", ...options.diverging }
    : colourScaleFor(values, mask, scale);
  const image = frameImage(values, mask, { picture, colours });

  const { transpose, rowOrder } = geometry;
  const column = { label: "Column", first: origin.column };
  const row = { label: "Row", first: origin.row };
  const x = pixelAxis(transpose ? row : column, picture.across);
  const yUp = pixelAxis(transpose ? column : row, picture.down);
  const y = rowOrder === "bottom-up" ? yUp : { ...yUp, low: yUp.high, high: yUp.low };
  const value = makeAxis({ ...quantity, scale }, colours ?? { low: 0.1, high: 1 });

  const head = titleBlock(title);
  const left = EDGE + roomLeftOf(y);
  const barRoom = BAR_GAP + BAR_WIDTH + roomLeftOf(value) + EDGE;
  const [pitchAcross, pitchDown] = transpose
    ? [geometry.pixelSizeY, geometry.pixelSizeX]
    : [geometry.pixelSizeX, geometry.pixelSizeY];
  const tallness = (picture.down * pitchDown) / (picture.across * pitchAcross);
  const width = Math.min(COLUMN_WIDTH - left - barRoom, TALLEST / tallness);
  const box = { left, top: head.height, width, height: width * tallness };
  const below = box.top + box.height + ROOM_BELOW;
  const keys = keyLines(image, below + 2);
  const foot = notesBlock(notes, keys.bottom);
  return figure(keys.bottom + foot.height, title, [
    head.markup,
    imageElement(box, image.png),
    clipped(box, [frameOverlay({ geometry, picture, box, outline: options.outline })]),
    plotFrame({ box, x, y }),
    colours === undefined ? "" : colourBar(box, { ...value, low: colours.low, high: colours.high }, colours),
    keys.markup,
    foot.markup,
  ]);
}

function pixelAxis({ label, first }: { readonly label: string; readonly first: number }, pixels: number) {
  const spec: AxisSpec = { label, unit: "px", scale: "linear" };
  const edges = { low: first - 0.5, high: first + pixels - 0.5 };
  const ends = makeAxis(spec, { low: first, high: first + pixels - 1 });
  return makeAxis({ ...spec, fixed: { ...edges, ticks: ends.ticks.map((tick) => tick.value) } }, edges);
}

/** Pixels stay squares however large they are drawn. */
function imageElement({ left, top, width, height }: Box, png: Uint8Array): string {
  return element("image", {
    x: left,
    y: top,
    width,
    height,
    preserveAspectRatio: "none",
    style: "image-rendering:pixelated",
    href: `data:image/png;base64,${base64(png)}`,
  });
}

function colourBar(box: Box, axis: ReturnType<typeof makeAxis>, colours: ColourScale): string {
  const bar = { left: box.left + box.width + BAR_GAP, top: box.top, width: BAR_WIDTH, height: box.height };
  const right = bar.left + bar.width;
  const place = (value: number) => {
    const along =
      axis.scale === "log"
        ? Math.log(value / axis.low) / Math.log(axis.high / axis.low)
        : (value - axis.low) / (axis.high - axis.low);
    return bar.top + (1 - along) * bar.height;
  };
  const inside = axis.ticks.filter(({ value }) => value >= axis.low && value <= axis.high);
  const marks = inside.map(({ value, label }) => `M${at(right)} ${at(place(value))}h${label === undefined ? 1.5 : 3}`);
  const labels = inside
    .filter(({ label }) => label !== undefined)
    .map(({ value, label }) => labelText({ x: right + 4.5, y: place(value) + NOTE_SIZE * 0.34 }, label!));
  const middle = bar.top + bar.height / 2;
  const titleX = right + roomLeftOf(axis) - 2;
  return [
    imageElement(bar, colourStrip(colours)),
    element("rect", {
      x: bar.left,
      y: bar.top,
      width: bar.width,
      height: bar.height,
      stroke: INK.text,
      "stroke-width": 0.6,
      fill: "none",
    }),
    element("path", { d: marks.join("") || "M0 0", stroke: INK.text, "stroke-width": 0.6 }),
    element("g", { "font-family": FIGURES, "font-size": NOTE_SIZE }, labels.join("\n") || " "),
    labelText(
      { x: titleX, y: middle, "text-anchor": "middle", transform: `rotate(-90 ${at(titleX)} ${at(middle)})` },
      axis.title,
    ),
  ].join("\n");
}

/** What the colours that are not on the scale mean; only those that occur. */
function keyLines(
  image: { readonly masked: number; readonly uncoloured: number },
  top: number,
): { readonly markup: string; readonly bottom: number } {
  const keys = [
    ...(image.masked > 0 ? [{ colour: INK.masked, words: "masked" }] : []),
    ...(image.uncoloured > 0 ? [{ colour: INK.paper, words: "0 or below" }] : []),
  ];
  if (keys.length === 0) return { markup: "", bottom: top };
  const entries = keys.map(({ colour, words }, i) => {
    const x = EDGE + 64 * i;
    const swatch = { x, y: top + 1, width: 7, height: 7, fill: colour, stroke: INK.muted, "stroke-width": 0.5 };
    return (
      element("rect", swatch) + plainText({ x: x + 10.5, y: top + NOTE_SIZE * 0.9, "font-size": NOTE_SIZE }, words)
    );
  });
  return { markup: element("g", { fill: INK.muted }, entries.join("\n")), bottom: top + TEXT_SIZE + 4 };
}

/** The light palette: figures are read on paper and on white screens. */
export const INK = {
  paper: "#FFFFFF",
  text: "#1C1E22",
  muted: "#5E656F",
  line: "#D9D5CA",
  masked: "#C9C4B8",
  overlay: "#D55E00",
} as const;

/**
 * Colours of curves in a fixed order: those of Okabe and Ito, told apart by all common kinds of colour vision, without
 * the yellow that is lost on white. The window's light palette has the same order.
 * @see Okabe & Ito, Color Universal Design (2008), https://jfly.uni-koeln.de/color/
 */
export const CURVE_COLOURS = ["#0072B2", "#D55E00", "#009E73", "#CC79A7", "#56B4E9", "#E69F00", "#1C1E22"] as const;

export function curveColour(index: number): string {
  return CURVE_COLOURS[index % CURVE_COLOURS.length]!;
}

/** One printed column, 85 mm, in points; a figure's user unit is a point, so that text of size 9 is 9 pt in print. */
export const COLUMN_WIDTH = 241;
export const TEXT_SIZE = 9;
export const NOTE_SIZE = 8;

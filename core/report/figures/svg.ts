import { escapeXml, oneLine } from "../text.ts";
import { COLUMN_WIDTH, INK, TEXT_SIZE } from "./palette.ts";

export const WORDS = "'Atkinson Hyperlegible Next', sans-serif";
export const FIGURES = "'Atkinson Hyperlegible Mono', monospace";

/** A coordinate: hundredths of a point, so that the last bits of a logarithm don't reach the file. */
export function at(value: number): string {
  const rounded = Math.round(value * 100) / 100;
  return String(rounded === 0 ? 0 : rounded);
}

type Attributes = Readonly<Record<string, string | number>>;

/** One element. Attribute values are escaped, numbers rounded to hundredths; `content` is markup already. */
export function element(name: string, attributes: Attributes, content = ""): string {
  const written = Object.entries(attributes)
    .map(([key, value]) => ` ${key}="${typeof value === "number" ? at(value) : escapeXml(value)}"`)
    .join("");
  return content === "" ? `<${name}${written}/>` : `<${name}${written}>${content}</${name}>`;
}

export interface TextPlace extends Attributes {
  readonly x: number;
  readonly y: number;
}

/** Text of a person or a file, on one line, as it is. */
export function plainText(place: TextPlace, words: string): string {
  return element("text", place, escapeXml(oneLine(words)));
}

const SUPERSCRIPT = /\^(-?\d+)/;

/** A label of our own, in which "^4" or "^-3" is raised. Shifts of the line, since not every viewer knows baseline-shift. */
export function labelText(place: TextPlace, label: string): string {
  let lowered = false;
  const content = label.split(SUPERSCRIPT).map((part, index) => {
    const isRaised = index % 2 === 1;
    if (part === "") return "";
    const words = escapeXml(isRaised ? part.replace("-", "\u2212") : part);
    if (isRaised) {
      lowered = true;
      return `<tspan dy="-3" font-size="75%">${words}</tspan>`;
    }
    if (!lowered) return words;
    lowered = false;
    return `<tspan dy="3">${words}</tspan>`;
  });
  return element("text", place, content.join(""));
}

/** The whole figure: one column wide, on paper, text as text, without script, style sheet or reference to anything outside. */
export function figure(height: number, title: string, content: readonly string[]): string {
  const head = {
    xmlns: "http://www.w3.org/2000/svg",
    width: `${COLUMN_WIDTH}pt`,
    height: `${at(height)}pt`,
    viewBox: `0 0 ${COLUMN_WIDTH} ${at(height)}`,
    "font-family": WORDS,
    "font-size": TEXT_SIZE,
    fill: INK.text,
    role: "img",
  };
  const ground = element("rect", { width: COLUMN_WIDTH, height, fill: INK.paper });
  const named = element("title", {}, escapeXml(oneLine(title)) || " ");
  return `${element("svg", head, [named, ground, ...content].join("\n"))}\n`;
}

/** A part of the figure that is cut off at its edges. A nested svg does that without ids, which could meet each other in a page. */
export function clipped(box: Box, content: readonly string[]): string {
  const { left, top, width, height } = box;
  const place = { x: left, y: top, width, height, viewBox: [left, top, width, height].map(at).join(" ") };
  return element("svg", place, content.join("\n") || " ");
}

export interface Box {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

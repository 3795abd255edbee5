import { oneLine } from "../text.ts";

/** Mean width of a character of Atkinson Hyperlegible Next, in parts of the text size; on the wide side. */
const MEAN_WIDTH = 0.53;

/** Breaks text into lines that fit `width` at text size `size`; a word that is longer than a line is broken too. */
export function wrap(text: string, width: number, size: number): string[] {
  const room = Math.max(1, Math.floor(width / (MEAN_WIDTH * size)));
  const lines: string[] = [];
  let line = "";
  for (const word of oneLine(text).split(" ")) {
    let rest = word;
    if (line !== "" && lengthOf(line) + 1 + lengthOf(rest) > room) {
      lines.push(line);
      line = "";
    }
    while (lengthOf(rest) > room) {
      const part = fitting(rest, room);
      lines.push(part);
      rest = rest.slice(part.length);
    }
    line = line === "" ? rest : `${line} ${rest}`;
  }
  if (line !== "") lines.push(line);
  return lines;
}

/** The first line of a wrapped text, with an ellipsis where more follows. */
export function shortened(text: string, width: number, size: number): string {
  const [first, ...more] = wrap(text, width, size);
  return more.length === 0 ? (first ?? "") : `${wrap(text, width - 2 * size, size)[0]}…`;
}

/** Characters as wide as two Latin ones: the scripts of East Asia, and pictures. */
const WIDE =
  /[\u1100-\u115f\u2e80-\ua4cf\uac00-\ud7a3\uf900-\ufaff\ufe30-\ufe4f\uff00-\uff60\uffe0-\uffe6\u{1f000}-\u{1faff}]/u;

function lengthOf(text: string): number {
  let length = 0;
  for (const character of text) length += WIDE.test(character) ? 2 : 1;
  return length;
}

function fitting(text: string, room: number): string {
  let part = "";
  for (const character of text) {
    if (part !== "" && lengthOf(part) + lengthOf(character) > room) break;
    part += character;
  }
  return part;
}

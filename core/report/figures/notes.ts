import { COLUMN_WIDTH, INK, NOTE_SIZE, TEXT_SIZE } from "./palette.ts";
import { element, plainText } from "./svg.ts";
import { shortened, wrap } from "./wrap.ts";

export const EDGE = 6;
const LINE = NOTE_SIZE * 1.25;
const ROOM = COLUMN_WIDTH - 2 * EDGE;

export interface Block {
  readonly markup: string;
  readonly height: number;
}

/** The title at the top: one line, shortened where it is too long. */
export function titleBlock(title: string): Block {
  const words = shortened(title, ROOM, TEXT_SIZE);
  if (words === "") return { markup: "", height: EDGE };
  const markup = plainText({ x: EDGE, y: EDGE + TEXT_SIZE * 0.8, "font-weight": 600 }, words);
  return { markup, height: EDGE + TEXT_SIZE + 5 };
}

/** What a reader must know, under the picture: what was not applied, and what the picture leaves out. */
export function notesBlock(notes: readonly string[], top: number): Block {
  const lines = notes.flatMap((note) => wrap(note, ROOM, NOTE_SIZE));
  if (lines.length === 0) return { markup: "", height: EDGE };
  const texts = lines.map((line, i) => plainText({ x: EDGE, y: top + LINE * (i + 0.9) }, line));
  const markup = element("g", { "font-size": NOTE_SIZE, fill: INK.muted }, texts.join("\n"));
  return { markup, height: LINE * lines.length + EDGE };
}

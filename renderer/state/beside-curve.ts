import type { PlanFile, PlanFiles } from "./plan-file.ts";

/** A finished curve of a file that stands beside our own. Its points are read anew from the file, never kept here. */
export interface BesideCurve {
  /** Unique among everything that is drawn. */
  readonly key: string;
  /** Of its file among those of the document. */
  readonly path: string;
  /** Which of the file's curves, from 0. */
  readonly place: number;
  readonly label: string;
  /** Place in the order of colours, after our own averages: it stays when others come and go. */
  readonly colour: number;
  readonly shown: boolean;
}

/** Own averages have the keys of the plan; everything that stands beside them begins so. */
const BESIDE = "beside:";

export function isBeside(key: string | undefined): boolean {
  return key?.startsWith(BESIDE) === true;
}

export function besideKey(name: string, number: number): string {
  return `${BESIDE}${number}:${name}`;
}

/** The files that hold curves, not runs. */
export function curveFiles(files: PlanFiles): PlanFiles {
  return Object.fromEntries(Object.entries(files).filter(([, file]) => isCurveFile(file)));
}

export function isCurveFile(file: Pick<PlanFile, "holds"> | undefined): boolean {
  return file?.holds === "curves";
}

/** The curves of a file that came in, after those that are there: with colours that none of them has. */
export function besideEntries(
  known: readonly BesideCurve[],
  path: string,
  labels: readonly string[],
): readonly BesideCurve[] {
  const taken = new Set(known.map(({ colour }) => colour));
  let colour = 0;
  let number = 1 + Math.max(0, ...known.map(({ key }) => Number(key.split(":")[1])));
  return labels.map((label, place) => {
    while (taken.has(colour)) colour++;
    taken.add(colour);
    return { key: besideKey(label, number++), path, place, label, colour, shown: true };
  });
}

/** Curves of an earlier session; what is not understood is left out. */
export function readBeside(stored: unknown): readonly BesideCurve[] {
  if (!Array.isArray(stored)) return [];
  return stored.filter(
    (entry): entry is BesideCurve =>
      typeof entry === "object" &&
      entry !== null &&
      ["key", "path", "label"].every((name) => typeof entry[name] === "string") &&
      ["place", "colour"].every((name) => Number.isInteger(entry[name]) && entry[name] >= 0) &&
      typeof entry.shown === "boolean",
  );
}

/** The frame of every fixture: see scripts/make-format-fixtures.py. */
export const KNOWN = { width: 37, height: 23 } as const;

export function knownCount(x: number, y: number): number {
  return (7 * x + 13 * y * y) % 251;
}

/** The first rows of the known frame, each value changed by `change`. */
export function knownFrame(
  height: number = KNOWN.height,
  change: (count: number) => number = (count) => count,
): number[] {
  return Array.from({ length: height * KNOWN.width }, (_, p) =>
    change(knownCount(p % KNOWN.width, Math.floor(p / KNOWN.width))),
  );
}

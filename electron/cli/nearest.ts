import { distance } from "fastest-levenshtein";

/** The known name that was most likely meant; undefined: none is near. */
export function nearest(given: string, known: readonly string[]): string | undefined {
  let best: string | undefined;
  // Up to a third of the letters wrong: further away, a guess confuses more than it helps.
  let bestDistance = Math.max(1, Math.floor(given.length / 3)) + 1;
  for (const name of known) {
    const steps = distance(given.toLowerCase(), name.toLowerCase());
    const isStart = given.length >= 3 && name.startsWith(given);
    if (steps < bestDistance || (isStart && best === undefined)) {
      best = name;
      bestDistance = Math.min(steps, bestDistance);
    }
  }
  return best;
}

/** ", did you mean NAME?" or nothing, to end a sentence with. */
export function didYouMean(given: string, known: readonly string[], prefix = ""): string {
  const name = nearest(given, known);
  return name === undefined ? "" : `; did you mean ${prefix}${name}?`;
}

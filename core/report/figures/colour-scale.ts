import { interpolateCividis, interpolatePuOr } from "d3-scale-chromatic";
import { steadyFloor } from "../../model/numbers.ts";

const STEPS = 256;

/** A map's values as colours: perceptually even, the same for red-green blind eyes, light where there is most. */
export interface ColourScale {
  readonly scale: "linear" | "log";
  /** Value of the darkest and of the lightest colour. */
  readonly low: number;
  readonly high: number;
  /** "diverging": purple to orange through white, for values of either sign. Absent: cividis. */
  readonly palette?: "diverging";
}

/** Cividis (Nunez, Anderton & Renslow 2018, PLOS ONE 13, e0199239) in 256 steps, 3 bytes a step. */
const SEQUENTIAL: Uint8Array = colourTable(interpolateCividis);
/** As the others, the same for red-green blind eyes. @see Harrower & Brewer 2003, Cartographic Journal 40, 27 */
const DIVERGING: Uint8Array = colourTable(interpolatePuOr);

/** Colours of a scale in 256 steps, 3 bytes a step. */
export function coloursOf({ palette }: Pick<ColourScale, "palette">): Uint8Array {
  return palette === "diverging" ? DIVERGING : SEQUENTIAL;
}

/** Step of a value on the scale, 0..255; undefined where the scale has no place for it (0 and below on a logarithm). */
export function colourStep({ scale, low, high }: ColourScale, value: number): number | undefined {
  if (scale === "log" && !(value > 0)) return undefined;
  const along = scale === "log" ? Math.log(value / low) / Math.log(high / low) : (value - low) / (high - low);
  return Math.min(STEPS - 1, Math.max(0, steadyFloor(along * STEPS)));
}

/**
 * A scale for the used pixels of a map: from the lowest but one in a hundred to the highest, so that a few odd pixels
 * do not take the colours of all others.
 * @returns undefined where no pixel can be shown
 */
export function colourScaleFor(
  values: ArrayLike<number>,
  mask: Uint16Array,
  scale: ColourScale["scale"],
): ColourScale | undefined {
  const used = new Float64Array(values.length);
  let n = 0;
  for (let p = 0; p < values.length; p++) {
    const value = values[p]!;
    if (mask[p] === 0 && Number.isFinite(value) && (scale === "linear" || value > 0)) used[n++] = value;
  }
  if (n === 0) return undefined;
  const sorted = used.subarray(0, n).sort();
  const low = sorted[Math.floor(0.01 * (n - 1))]!;
  const high = sorted[n - 1]!;
  if (high > low) return { scale, low, high };
  return scale === "log" ? { scale, low: low / 2, high: high * 2 } : { scale, low: low - 0.5, high: high + 0.5 };
}

function colourTable(interpolate: (t: number) => string): Uint8Array {
  const table = new Uint8Array(3 * STEPS);
  for (let step = 0; step < STEPS; step++) {
    const channels = interpolate(step / (STEPS - 1)).match(/\d+/g);
    if (channels?.length !== 3) throw new TypeError("the colour map is not in the form rgb(r, g, b)");
    table.set(channels.map(Number), 3 * step);
  }
  return table;
}

import { readNumber } from "./number-box.tsx";

/** Powers of ten of a metre. */
const LENGTHS: Readonly<Record<string, number>> = {
  km: 3,
  m: 0,
  cm: -2,
  mm: -3,
  µm: -6,
  μm: -6,
  um: -6,
  nm: -9,
  Å: -10,
  A: -10,
  pm: -12,
};

/**
 * A length as a person writes it, in the unit of its field: "4", "400 cm" and "4m" are all 4 where the unit is m.
 * Undefined where the text is no number, or its unit no length.
 */
export function readLength(text: string, unit: string): number | undefined {
  const [, digits = "", suffix = ""] = /^\s*(.*?[\d.,])\s*([a-zµμÅ]*)\s*$/iu.exec(text) ?? [];
  const value = readNumber(digits);
  const [from, to] = [LENGTHS[suffix === "" ? unit : suffix], LENGTHS[unit]];
  if (value === undefined || from === undefined || to === undefined) return undefined;
  return shifted(value, from - to);
}

/** `value` times ten to `power`, by moving the point of its decimal form: 0.6 nm are 6 angstrom, not 5.999999. */
function shifted(value: number, power: number): number {
  const [digits = "0", exponent = "0"] = String(value).split("e");
  return Number(`${digits}e${Number(exponent) + power}`);
}

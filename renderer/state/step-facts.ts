import type { LedgerEntry } from "../../core/model/ledger.ts";
import { METADATA_FIELDS } from "../../core/model/metadata.ts";
import { readable, withSigma } from "../../core/model/numbers.ts";
import { RUN_ROLES, type RunRole } from "../../core/plan/plan.ts";
import { parameterText, stepName } from "../../core/report/ledger-words.ts";
import { inTens } from "./ledger-face.ts";
import { planKeysInWords, ROLE_LABELS } from "./plan-words.ts";

/** One line of a step's details. */
export interface StepFact {
  readonly key: string;
  readonly label: string;
  readonly text: string;
  readonly unit?: string;
  /** Where it came from, in words. */
  readonly source?: string;
}

/** Endings of the plan's keys, with the unit that they stand for. */
const UNITS: Readonly<Record<string, string>> = {
  _px: "px",
  _mm: "mm",
  _m: "m",
  _s: "s",
  _A: "Å",
  _1A: "1/Å",
  _1cm: "1/cm",
  _deg: "°",
};

const LABELS: Readonly<Record<string, string>> = {
  obliquePath: "Longer path at an angle",
  normalisedBy: "Normalised by",
  normaliseBy: "Divided by",
  scaleBy: "Scaled by",
  directBeam: "Empty beam, K",
  directBeam_sigma: "Empty beam, K",
  radius_px: "Radius of the sum",
  centre_px: "Middle of the sum",
  tau_s: "Dead time",
  per: "For each",
  takenOut: "Taken out of the flood",
  goodPixels: "Good pixels",
  outOfRange: "Pixels out of range",
  smooth_px: "Smoothing",
  wavelength_relative_sigma: "Wavelength, relative σ",
  auto: "By itself",
  edge_px: "Edge",
};

/** Numbers of a direct beam that are said in the line of its counts, or in the transmission view. */
const OF_A_BEAM = ["pixels", "normalisation", "attenuation"];

/**
 * What a step was told and found, in words and with no more digits than a sigma supports. The ledger file keeps the
 * plan's keys and every digit.
 */
export function stepFacts({ parameters, sources }: LedgerEntry): readonly StepFact[] {
  return Object.entries(parameters).flatMap(([key, value]): readonly StepFact[] => {
    const { role, own } = split(key);
    if (own.endsWith("_sigma") && own !== "wavelength_relative_sigma" && key.replace(/_sigma$/, "") in parameters)
      return [];
    if (role !== undefined && OF_A_BEAM.includes(own) && `${key.slice(0, -own.length)}netCounts` in parameters)
      return [];
    const source = sources[key];
    const fact = {
      key,
      label: role === undefined ? labelOf(own) : `${ROLE_LABELS[role]}, ${labelOf(own).toLowerCase()}`,
      ...(source !== undefined && { source: planKeysInWords(source) }),
    };
    if (role !== undefined && own === "netCounts") {
      const pixels = parameters[`${key.slice(0, -own.length)}pixels`];
      const where = typeof pixels === "number" ? ` in ${pixels} pixels` : "";
      return [{ ...fact, text: `${inTens(Math.round(Number(value)))}${where}` }];
    }
    const unit = unitOf(own);
    return [{ ...fact, text: textOf(value, parameters[`${key}_sigma`]), ...(unit !== undefined && { unit }) }];
  });
}

/** "emptyCell.emptyCellTransmission.netCounts": the last role that is named, and what is said of it. */
function split(key: string): { readonly role: RunRole | undefined; readonly own: string } {
  const parts = key.split(".");
  const own = parts.at(-1) ?? key;
  const role = RUN_ROLES.find((name) => name === parts.at(-2));
  return role === undefined ? { role, own: key } : { role, own };
}

function labelOf(key: string): string {
  const known = LABELS[key] ?? METADATA_FIELDS.find(({ fileKey }) => fileKey === key)?.label;
  if (known !== undefined) return known;
  const words = key
    .replace(/_(px|mm|m|s|A|1A|1cm|deg)$/, "")
    .replaceAll("_", " ")
    .replaceAll(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
  return words.charAt(0).toUpperCase() + words.slice(1);
}

function unitOf(key: string): string | undefined {
  const ending = Object.keys(UNITS).find((end) => key.endsWith(end));
  return ending === undefined ? undefined : UNITS[ending];
}

function textOf(value: unknown, sigma: unknown): string {
  if (typeof value === "number") return numberText(value, typeof sigma === "number" ? sigma : undefined);
  if (Array.isArray(value) && value.every((part) => typeof part === "number"))
    return value
      .map((part: number, i) => numberText(part, Array.isArray(sigma) ? Number(sigma[i]) : undefined))
      .join(", ");
  if (Array.isArray(value)) return value.map((part) => textOf(part, undefined)).join(", ");
  if (typeof value === "object" && value !== null)
    return Object.entries(value)
      .map(([key, part]) => `${labelOf(key).toLowerCase()} ${textOf(part, undefined)} ${unitOf(key) ?? ""}`.trim())
      .join(", ");
  if (typeof value === "string" && value !== stepName(value)) return stepName(value);
  if (typeof value === "string") return planKeysInWords(value.replace(/^([a-z]+)-([a-z]+)$/, "$1 $2"));
  return parameterText(value, readable);
}

function numberText(value: number, sigma: number | undefined): string {
  if (sigma !== undefined) return withSigma(value, sigma);
  return Math.abs(value) >= 1e6 ? inTens(value) : readable(value);
}

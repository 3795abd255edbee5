import type { LedgerEntry } from "../../core/model/ledger.ts";
import { readable, withSigma } from "../../core/model/numbers.ts";
import { effectInWords, stepName } from "../../core/report/ledger-words.ts";

/** What a step of the ledger shows of itself: the number that matters, with its unit; the rest is in its details. */
export interface LedgerFace {
  readonly name: string;
  readonly line: string;
}

type Parameters = LedgerEntry["parameters"];

/** Shorter names than in reports, where a cell has room for two words. */
const SHORT_NAMES: Readonly<Record<string, string>> = {
  flood: "flood",
  detectorAbsorption: "absorption",
  background: "background",
  background_1cm: "background",
};

const LINES: Readonly<Record<string, (parameters: Parameters) => string | undefined>> = {
  beamCentre: (p) => {
    const [x, y] = pair(p["beamCentre_px"]);
    const [sx, sy] = pair(p["beamCentre_px_sigma"]);
    if (x === undefined || y === undefined) return undefined;
    const hundredths = (value: number, sigma: number | undefined) =>
      sigma === undefined || sigma < 0.01 ? value.toFixed(2) : value.toFixed(sigma < 0.1 ? 2 : 1);
    return `${hundredths(x, sx)}, ${hundredths(y, sy)} px`;
  },
  deadTime: (p) => number(p["tau_s"], (tau) => `${readable(tau * 1e6)} µs, by ${word(p["per"])}`),
  blockedBeam: (p) => number(p["scale"], (scale) => `taken off, × ${readable(Number(scale.toPrecision(3)))}`),
  normaliseBy: (p) =>
    number(p["monitorCounts"], (counts) => `${inTens(counts)} monitor counts`) ??
    number(p["countTime_s"], (time) => `${readable(time)} s`),
  transmission: (p) => number(p["transmission"], (value) => withSigma(value, asNumber(p["transmission_sigma"]))),
  emptyCell: () => "taken off",
  solidAngle: (p) => word(p["method"]),
  flood: (p) =>
    number(p["smooth_px"], (smooth) => (smooth > 0 ? `smoothed by ${readable(smooth)} px` : "pixel by pixel")),
  detectorAbsorption: (p) => number(p["opticalDepth"], (depth) => `optical depth ${readable(depth)}`),
  thickness: (p) => number(p["thickness_mm"], (mm) => `${readable(mm)} mm`),
  absolute: (p) =>
    number(p["directBeam"], (value) => `beam ${withSigma(value, asNumber(p["directBeam_sigma"]))}`) ??
    number(p["value"], (value) => `factor ${withSigma(value, asNumber(p["sigma"]))}`),
  background: (p) => number(p["background_1cm"], (value) => `${readable(value)} 1/cm`),
  background_1cm: (p) => number(p["background_1cm"], (value) => `${readable(value)} 1/cm`),
  resolution: (p) =>
    number(p["wavelength_relative_sigma"], (sigma) => `σλ/λ ${readable(Number((100 * sigma).toPrecision(2)))} %`),
  gravity: (p) => number(p["drop_mm"], (drop) => `fall of ${readable(drop)} mm`),
};

export function faceOf(entry: LedgerEntry): LedgerFace {
  const name = SHORT_NAMES[entry.step] ?? stepName(entry.step);
  if (entry.status !== "applied") return { name, line: whyNot(entry.reason) };
  const effect = entry.effect ?? {};
  if (entry.step === "mask" && effect.pixelsMasked !== undefined)
    return { name, line: `${effect.pixelsMasked} pixels masked` };
  const { factorMin, factorMax } = effect;
  const factor = effectInWords({
    ...(factorMin === undefined ? {} : { factorMin }),
    ...(factorMax === undefined ? {} : { factorMax }),
  });
  return { name, line: LINES[entry.step]?.(entry.parameters) ?? (factor === "" ? "applied" : factor) };
}

/** The keys of the plan stay in the details: on the face it is the words that count. */
function whyNot(reason: string | undefined): string {
  if (reason === undefined) return "not applied";
  if (/^switched off/.test(reason)) return "left out";
  const run = /^runs\.(\w+) is not given/.exec(reason)?.[1];
  if (run !== undefined) return "no run given";
  if (/is not given/.test(reason)) return "not asked for";
  const missing = /metadata\.\w+\.(\w+?)(?:_[a-zA-Z]+)?\b/.exec(reason)?.[1];
  if (missing !== undefined) return `needs ${spelledOut(missing)}`;
  return /^corrections\./.test(reason) ? "not asked for" : reason;
}

/** "monitorCounts": "monitor counts". */
function spelledOut(key: string): string {
  return key.replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
}

const RAISED = "⁰¹²³⁴⁵⁶⁷⁸⁹";

/** A large number of counts: "5.96 × 10⁷". */
export function inTens(value: number): string {
  if (Math.abs(value) < 1e6) return readable(value);
  const [digits = "", exponent = ""] = value.toExponential(2).split("e+");
  return `${digits} × 10${[...exponent].map((digit) => RAISED[Number(digit)]).join("")}`;
}

function number(value: unknown, words: (value: number) => string): string | undefined {
  const known = asNumber(value);
  return known === undefined ? undefined : words(known);
}

function asNumber(value: unknown): number | undefined {
  return typeof value === "number" && Number.isFinite(value) ? value : undefined;
}

function word(value: unknown): string {
  return typeof value === "string" ? value.replace("-", " ") : "";
}

function pair(value: unknown): readonly (number | undefined)[] {
  return Array.isArray(value) ? value.map(asNumber) : [];
}

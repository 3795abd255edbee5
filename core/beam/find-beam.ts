import { addMask, MASK_REASONS } from "../model/mask.ts";
import type { StopOutline } from "../model/measured.ts";
import type { BeamStopInput } from "./assess-beam-stop.ts";
import { centreBySymmetry } from "./centre-by-symmetry.ts";
import { findDirectBeam } from "./centre-of-mass.ts";
import { beamFootprint } from "./footprint.ts";
import { square } from "./square.ts";
import { beamStopMask } from "./stop-mask.ts";
import type { StopShadow } from "./stop-shadow.ts";

interface Centre {
  readonly x: number;
  readonly y: number;
  readonly xSigma?: number;
  readonly ySigma?: number;
}

export interface ChosenCentre extends Centre {
  readonly method: "given" | "rings";
}

export interface Beam extends Centre {
  readonly method: "direct-beam" | "symmetry" | "given" | "rings";
  /** px */
  readonly radius?: number;
  readonly radiusFrom?: "direct-beam" | "collimation";
}

/** What lies over the halo where its centre is looked for. */
export interface HiddenHalo {
  /** Outline and penumbra. */
  readonly hidden: readonly [StopOutline, number];
  readonly leaveOut: readonly number[];
  /** Where the halo's centre is, about. */
  readonly halo: StopShadow["haloCentre"] | undefined;
}

/** px: the shadow's fit knows the halo's centre this well, so that no other start is tried. */
const CLOSE = 0.5;
/** Two centres disagree where they are apart by this many sigma and this many pixels. */
const APART_SIGMAS = 3;
const APART_PIXELS = 0.5;

/**
 * Where the beam is: the centre that was chosen, else that of the direct beam, which is a measurement of the very thing,
 * else the centre of the halo, else a declared one. A centre that the halo contradicts is warned of, because every number
 * of the verdict hangs on it. The size is that of the direct beam, else that of the collimation.
 */
export function findBeam(
  input: BeamStopInput,
  shadow: HiddenHalo,
  aspect: number,
  warnings: string[],
): Beam | undefined {
  const direct = input.directBeam && findDirectBeam(input.directBeam);
  if (direct?.ok === false) warnings.push(direct.fault.message);
  const size = direct?.ok
    ? ({ radius: direct.value.edgeRadius, radiusFrom: "direct-beam" } as const)
    : byCollimation(input);
  const measured: Beam | undefined = direct?.ok ? { ...centreOf(direct.value), method: "direct-beam" } : undefined;
  const used: Beam | undefined = input.chosenCentre ?? measured;
  const halo = haloCentre(input, shadow, aspect);
  const seen: Beam | undefined = halo.ok ? { ...centreOf(halo.value), method: "symmetry" } : undefined;
  if (used !== undefined) {
    for (const other of [measured, seen]) if (other !== undefined) warnings.push(...disagreement(used, other));
    return { ...used, ...size };
  }
  if (!halo.ok) warnings.push(halo.fault.message);
  const fallback: Beam | undefined = seen ?? (input.givenCentre && { ...input.givenCentre, method: "given" });
  return fallback && { ...fallback, ...size };
}

function centreOf({ x, y, xSigma, ySigma }: Required<Centre>): Required<Centre> {
  return { x, y, xSigma, ySigma };
}

function byCollimation(input: BeamStopInput): Pick<Beam, "radius" | "radiusFrom"> {
  const { distance, collimation } = input;
  const pitch = meanPitch(input.pixelSize);
  const footprint = collimation && distance !== undefined ? beamFootprint(collimation, distance) : undefined;
  const spread = input.gravitySpread === undefined ? 0 : input.gravitySpread / 2;
  if (footprint === undefined || pitch === undefined) return {};
  return { radius: (footprint.outerRadius + spread) / pitch, radiusFrom: "collimation" };
}

function haloCentre({ frame }: BeamStopInput, shadow: HiddenHalo, aspect: number): ReturnType<typeof centreBySymmetry> {
  const mask = frame.mask.slice();
  addMask(mask, beamStopMask(...shadow.hidden, frame.width, frame.height));
  for (const p of shadow.leaveOut) mask[p]! |= MASK_REASONS.beamStop;
  const isStartClose = shadow.halo !== undefined && Math.max(shadow.halo.xSigma, shadow.halo.ySigma) < CLOSE;
  return centreBySymmetry({ ...frame, mask }, { aspect, isStartClose, ...(shadow.halo && { start: shadow.halo }) });
}

const WORDS: Readonly<Record<Beam["method"], string>> = {
  "direct-beam": "the direct beam",
  symmetry: "the symmetry of the scattering",
  given: "the centre as given",
  rings: "the rings",
};

function disagreement(used: Beam, other: Beam): string[] {
  const apart = Math.sqrt(square(used.x - other.x) + square(used.y - other.y));
  const sigma = (along: "xSigma" | "ySigma"): number => Math.sqrt(square(used[along] ?? 0) + square(other[along] ?? 0));
  const isClear =
    Math.abs(used.x - other.x) > APART_SIGMAS * sigma("xSigma") ||
    Math.abs(used.y - other.y) > APART_SIGMAS * sigma("ySigma");
  if (!(isClear && apart > APART_PIXELS)) return [];
  return [
    `the beam was taken where ${WORDS[used.method]} has it, (${used.x.toFixed(2)}, ${used.y.toFixed(2)}) px; ${WORDS[other.method]} has it at (${other.x.toFixed(2)}, ${other.y.toFixed(2)}) px, ${apart.toFixed(2)} px away`,
  ];
}

/** m; the geometric mean of both pitches. */
export function meanPitch(pixelSize: readonly [number, number] | undefined): number | undefined {
  return pixelSize && Math.sqrt(pixelSize[0] * pixelSize[1]);
}

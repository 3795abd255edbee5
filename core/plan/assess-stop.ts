import { assessBeamStop } from "../beam/assess-beam-stop.ts";
import type { BeamStopReport } from "../beam/beam-stop-report.ts";
import { centreFromRings } from "../beam/centre-from-rings.ts";
import type { ChosenCentre } from "../beam/find-beam.ts";
import { gravityDrop } from "../geometry/gravity.ts";
import type { RunMetadata } from "../model/metadata.ts";
import { type Result, success } from "../model/result.ts";
import { buildMask } from "./build-mask.ts";
import { collimationOf } from "./geometry-of.ts";
import type { InputRun, Inputs } from "./inputs.ts";
import type { Plan, RunRole } from "./plan.ts";
import { resolveMetadata } from "./resolve-metadata.ts";

/** What the user allows, counts a second. */
export interface StopLimits {
  readonly hottestPixelRate?: number;
  readonly totalRate?: number;
}

/** Direct-beam runs, the best first: the fewer things stood in the beam, the better its rim shows. */
const BEAM_ROLES = ["emptyBeam", "sampleTransmission", "emptyCellTransmission"] as const satisfies readonly RunRole[];

/** Shown wherever the verdict is. */
export const STOP_CAUTION =
  "An aid for alignment, not a protection system: interlocks, shutters and radiation safety follow the facility's rules and its trained staff.";

/** The part of a plan that the beam-stop question needs: the sample, and one direct-beam run where the plan has one. */
export function stopPlan(plan: Plan): Plan {
  const { sample } = plan.runs;
  const role = beamRole(plan);
  const beam = role === undefined ? undefined : plan.runs[role];
  return { ...plan, runs: role === undefined || beam === undefined ? { sample } : { sample, [role]: beam } };
}

/**
 * Whether the beam stop covers the beam, for the sample of a plan. The plan gives the numbers that the file lacks, the
 * mask that was drawn (never the automatic one, which would hide stop and leak), and the direct beam, which a plan that
 * finds its centre by symmetry does not use.
 *
 * @param inputs of `loadInputs` for the plan or for its `stopPlan`
 */
export function assessStop(plan: Plan, inputs: Inputs, limits: StopLimits = {}): BeamStopReport {
  const { sample } = inputs.runs;
  const { auto: _auto, ...drawn } = plan.mask ?? {};
  const role = beamRole(plan);
  const beam = role === undefined ? undefined : inputs.runs[role];
  const seen: Inputs = { ...inputs, runs: { sample } };
  const metadata = resolveMetadata(plan, "sample", sample.metadata);
  const mask = buildMask({ ...plan, mask: drawn }, seen, metadata).bits;
  const { frame } = sample;
  const { pixelSize, distance, wavelength, beamCentre, countTime } = metadata;
  const gravitySpread = plan.corrections?.gravity === true ? fallOfBand(metadata) : undefined;
  const chosen = chosenCentre(plan, inputs, mask, metadata);
  const report = assessBeamStop({
    frame: { ...frame, mask },
    ...(beam && { directBeam: beam.frame }),
    ...(chosen?.ok && { chosenCentre: chosen.value }),
    ...(beamCentre && { givenCentre: { x: beamCentre.value[0], y: beamCentre.value[1] } }),
    ...(pixelSize && { pixelSize: pixelSize.value }),
    ...(distance && { distance: distance.value }),
    ...(wavelength && { wavelength: wavelength.value }),
    ...(countTime && { countTime: countTime.value }),
    ...(gravitySpread !== undefined && { gravitySpread }),
    collimation: collimationOf(metadata),
    limits,
  });
  return {
    ...report,
    reason: report.reason + unknownLengths(report, metadata),
    warnings: [
      ...report.warnings,
      ...(chosen?.ok === false ? [chosen.fault.message] : []),
      ...doubts(sample, limits, metadata),
    ],
  };
}

/**
 * The centre that the plan says is to be used. One that is given counts where the plan itself states it: what a file
 * declares may be as old as the last time that somebody wrote it there.
 */
function chosenCentre(
  plan: Plan,
  { runs: { sample } }: Inputs,
  mask: Uint16Array,
  { beamCentre, pixelSize, wavelength, distance }: RunMetadata,
): Result<ChosenCentre> | undefined {
  const start = beamCentre && { x: beamCentre.value[0], y: beamCentre.value[1] };
  if (plan.beamCentre?.method === "given")
    return start && beamCentre?.from.startsWith("metadata.") ? success({ ...start, method: "given" }) : undefined;
  if (plan.beamCentre?.method !== "rings") return undefined;
  const rings = centreFromRings(
    { ...sample.frame, mask },
    {
      dSpacing: plan.beamCentre.dSpacing_A,
      ...(pixelSize && { pixelSize: pixelSize.value }),
      ...(wavelength && { wavelength: wavelength.value }),
      ...(distance && { distance: distance.value }),
      ...(start && { start }),
    },
  );
  if (!rings.ok) return rings;
  const { x, y, xSigma, ySigma } = rings.value;
  return success({ x, y, xSigma, ySigma, method: "rings" });
}

function beamRole(plan: Plan): (typeof BEAM_ROLES)[number] | undefined {
  if (plan.beamCentre?.method === "symmetry") return undefined;
  return BEAM_ROLES.find((role) => plan.runs[role] !== undefined);
}

/** Pixels stand for lengths where nothing says how large they are. */
function unknownLengths({ stop }: BeamStopReport, { pixelSize }: RunMetadata): string {
  return stop !== null && pixelSize === undefined ? "; the pixel size is not known, so lengths are in pixels" : "";
}

/**
 * Height over which the wavelengths of the band fall apart at the detector, m. The band is taken as the triangle of a
 * velocity selector: it ends one full width at half maximum on either side.
 */
function fallOfBand({ wavelength, wavelengthSpread, distance, collimation }: RunMetadata): number | undefined {
  if (!(wavelength && wavelengthSpread && distance && collimation)) return undefined;
  const path = { collimation: collimation.value, distance: distance.value };
  const spread = wavelengthSpread.value;
  const shortest = Math.max(0, 1 - spread);
  return gravityDrop(path, wavelength.value * (1 + spread)) - gravityDrop(path, wavelength.value * shortest);
}

function doubts({ file, counting, warnings }: InputRun, limits: StopLimits, { countTime }: RunMetadata): string[] {
  const limited = limits.hottestPixelRate !== undefined || limits.totalRate !== undefined;
  return [
    ...warnings,
    ...(counting ? [] : [`${file}: values are not whole counts, so significances are rough`]),
    ...(limited && countTime === undefined ? [`${file}: the counting time is not known, so no rate was checked`] : []),
  ];
}

import { beamCentreAtWavelength, gravityDrop } from "../geometry/gravity.ts";
import type { Geometry } from "../model/geometry.ts";
import type { LedgerEntry } from "../model/ledger.ts";
import type { RunMetadata } from "../model/metadata.ts";
import { failure, type Result, success } from "../model/result.ts";
import type { Plan } from "./plan.ts";
import { gravitySmear, wavelengthSigma } from "./resolution.ts";

const KEY = "corrections.gravity";
const MM_PER_M = 1000;

export interface GravityEffect {
  readonly geometry: Geometry;
  readonly entry: LedgerEntry;
}

/**
 * Gravity on request: the beam centre of the sample's wavelength where it was measured at another one, and the smear
 * that the wavelength spread makes along the vertical. A centre that was found at the sample's wavelength holds its fall.
 * @param measuredAt wavelength at which the centre was found, angstrom
 */
export function applyGravity(
  plan: Plan,
  geometry: Geometry,
  metadata: RunMetadata,
  measuredAt: number,
): Result<GravityEffect> {
  const wanted = plan.corrections?.gravity;
  if (wanted !== true) {
    const reason = wanted === undefined ? `${KEY} is not given` : `switched off by ${KEY}`;
    return success({
      geometry,
      entry: { step: "gravity", status: "not applied", reason, parameters: {}, sources: {}, warnings: [] },
    });
  }
  const length = metadata.collimation;
  if (length === undefined || !(length.value >= 0))
    return failure("missing", `${KEY} needs the collimation length: set metadata.all.collimation_m`, {
      field: "metadata.all.collimation_m",
    });
  const path = { collimation: length.value, distance: geometry.distance };
  const drop = gravityDrop(path, geometry.wavelength);
  const smearing = gravitySmear(plan, geometry, metadata);
  const isBlurred = wavelengthSigma(plan, geometry, metadata) !== undefined;
  const spread =
    plan.resolution?.timeOfFlight === undefined ? metadata.wavelengthSpread?.from : "resolution.timeOfFlight";
  const moved =
    measuredAt === geometry.wavelength
      ? geometry.beamCentre
      : beamCentreAtWavelength(geometry, length.value, measuredAt);
  if (moved === undefined)
    return failure(
      "unsupported",
      `${KEY} can't move the centre of a tilted bank to another wavelength: give a centre found at ${geometry.wavelength} A`,
      {
        field: KEY,
      },
    );
  const shift = [moved.x - geometry.beamCentre.x, moved.y - geometry.beamCentre.y];
  return success({
    geometry: { ...geometry, beamCentre: moved },
    entry: {
      step: "gravity",
      status: "applied",
      parameters: {
        drop_mm: drop * MM_PER_M,
        smear_mm: smearing * MM_PER_M,
        centreFoundAt_A: measuredAt,
        shift_px: shift,
        collimation_m: length.value,
      },
      sources: { collimation_m: length.from, ...(spread && { smear_mm: spread }) },
      warnings: isBlurred ? [] : ["gravity smears by an unknown amount: the wavelength spread is not known"],
    },
  });
}

import { waveNumber } from "../geometry/constants.ts";
import { beamCentreAtWavelength, gravityDrop, gravitySmearing } from "../geometry/gravity.ts";
import type { QResolution } from "../geometry/resolution.ts";
import { relativeWavelengthSigma } from "../geometry/resolution.ts";
import type { Geometry } from "../model/geometry.ts";
import type { LedgerEntry } from "../model/ledger.ts";
import type { RunMetadata } from "../model/metadata.ts";
import { failure, type Result, success } from "../model/result.ts";
import type { Plan } from "./plan.ts";

const KEY = "corrections.gravity";
const MM_PER_M = 1000;

export interface GravityEffect {
  readonly geometry: Geometry;
  /** Standard deviation of the height at the detector from the wavelength spread, m. */
  readonly smearing: number;
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
      smearing: 0,
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
  const spread = metadata.wavelengthSpread;
  const smearing =
    spread === undefined ? 0 : gravitySmearing(path, geometry.wavelength, relativeWavelengthSigma(spread.value));
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
    smearing,
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
      sources: { collimation_m: length.from, ...(spread && { smear_mm: spread.from }) },
      warnings: spread === undefined ? ["gravity smears by an unknown amount: the wavelength spread is not known"] : [],
    },
  });
}

/**
 * A resolution with gravity's smear added. The smear is along one direction; over all azimuths it adds half of its
 * variance to that of Q.
 */
export function withSmearing(
  resolution: QResolution,
  { wavelength, distance }: Geometry,
  smearing: number,
): QResolution {
  const perAxis = (waveNumber(wavelength) * smearing) / distance;
  return { ...resolution, variance: (q) => resolution.variance(q) + (perAxis * perAxis) / 2 };
}

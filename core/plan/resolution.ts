import { waveNumber } from "../geometry/constants.ts";
import { gravitySmearing } from "../geometry/gravity.ts";
import { type QResolution, qResolution } from "../geometry/resolution.ts";
import { relativeWavelengthSigma, timedWavelengthSigma } from "../geometry/wavelength-spread.ts";
import type { Geometry } from "../model/geometry.ts";
import type { LedgerEntry } from "../model/ledger.ts";
import type { RunMetadata } from "../model/metadata.ts";
import { collimationOf } from "./geometry-of.ts";
import type { Plan } from "./plan.ts";

const MM_PER_M = 1000;
const METHODS = {
  "second-moments": "second moments of apertures, pixel, wavelength and bin",
  "full-widths": "full widths at half maximum over 2.3548 of apertures, pixel and wavelength; second moment of the bin",
} as const;

/** Standard deviation of the wavelength over its mean, as the plan wants it told; undefined where nothing tells it. */
export function wavelengthSigma(
  { resolution }: Plan,
  { wavelength }: Geometry,
  metadata: RunMetadata,
): number | undefined {
  const timed = resolution?.timeOfFlight;
  if (timed !== undefined)
    return timedWavelengthSigma(wavelength, {
      path: timed.path_m,
      pathSigma: (timed.path_mm_sigma ?? 0) / MM_PER_M,
      emissionSigma: timed.emission_us_sigma * 1e-6,
      channelWidth: timed.channelWidth,
    });
  const spread = metadata.wavelengthSpread;
  if (spread === undefined) return undefined;
  const law = resolution?.method === "full-widths" ? "gaussian" : resolution?.wavelengthLaw;
  return relativeWavelengthSigma(spread.value, law);
}

/** Standard deviation, m, of the height at the detector that gravity makes of the spread of wavelengths; 0: not asked for. */
export function gravitySmear(plan: Plan, geometry: Geometry, metadata: RunMetadata): number {
  const length = metadata.collimation?.value;
  if (plan.corrections?.gravity !== true || length === undefined) return 0;
  const path = { collimation: length, distance: geometry.distance };
  return gravitySmearing(path, geometry.wavelength, wavelengthSigma(plan, geometry, metadata) ?? 0);
}

/** The Q resolution where the camera is known well enough, and the ledger's line about it. */
export function resolutionOf(
  plan: Plan,
  geometry: Geometry,
  metadata: RunMetadata,
): { readonly resolution?: QResolution; readonly entry: LedgerEntry } {
  const { method = "second-moments", wavelengthLaw, timeOfFlight } = plan.resolution ?? {};
  const timed = timeOfFlight && wavelengthSigma(plan, geometry, metadata);
  const options = { method, law: wavelengthLaw, wavelengthSigma: timed };
  const found = qResolution(geometry, collimationOf(metadata), options);
  const base = { step: "resolution", warnings: [] };
  if (!found.ok)
    return { entry: { ...base, status: "not applied", reason: found.fault.message, parameters: {}, sources: {} } };
  const smearing = gravitySmear(plan, geometry, metadata);
  const perAxis = (waveNumber(geometry.wavelength) * smearing) / geometry.distance;
  return {
    resolution: { ...found.value, ...(smearing > 0 && { verticalVariance: perAxis * perAxis }) },
    entry: {
      ...base,
      status: "applied",
      parameters: {
        method: METHODS[method],
        meaning: "one standard deviation",
        wavelength_relative_sigma: found.value.relativeWavelengthSigma,
        ...(timeOfFlight === undefined &&
          method === "second-moments" && { wavelengthLaw: wavelengthLaw ?? "triangular" }),
        ...(timeOfFlight && { ...timeOfFlight }),
        ...(smearing > 0 && { gravity_smear_mm: smearing * MM_PER_M }),
      },
      sources: {
        method: plan.resolution?.method === undefined ? "default" : "resolution.method",
        wavelength_relative_sigma:
          timeOfFlight === undefined ? (metadata.wavelengthSpread?.from ?? "") : "resolution.timeOfFlight",
        ...(timeOfFlight === undefined &&
          method === "second-moments" && {
            wavelengthLaw: wavelengthLaw === undefined ? "default" : "resolution.wavelengthLaw",
          }),
      },
    },
  };
}

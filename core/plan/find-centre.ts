import { centreBySymmetry } from "../beam/centre-by-symmetry.ts";
import { centreFromRings } from "../beam/centre-from-rings.ts";
import { findDirectBeam } from "../beam/centre-of-mass.ts";
import type { LedgerEntry } from "../model/ledger.ts";
import type { RunMetadata } from "../model/metadata.ts";
import { failure, type Result, success } from "../model/result.ts";
import { beamCentreOf } from "./defaults.ts";
import { type BankGeometry, refuse } from "./geometry-of.ts";
import type { InputRun, Inputs } from "./inputs.ts";
import type { Plan } from "./plan.ts";
import type { BeamCentre } from "./reduction.ts";

export interface FoundCentre {
  readonly centre: BeamCentre;
  readonly entry: LedgerEntry;
  /** The direct-beam run that the centre was measured with. */
  readonly beamRun?: InputRun;
}

/** The beam centre by the plan's method, in array coordinates. @param mask that of the sample */
export function findCentre(
  plan: Plan,
  inputs: Inputs,
  {
    metadata,
    mask,
    geometry,
  }: { readonly metadata: RunMetadata; readonly mask: Uint16Array; readonly geometry: BankGeometry },
): Result<FoundCentre> {
  const choice = beamCentreOf(plan);
  const { sample } = inputs.runs;
  const { width, height, counts } = sample.frame;
  const known = metadata.beamCentre;
  const start = known === undefined ? {} : { start: { x: known.value[0], y: known.value[1] } };
  const aspect = geometry.pixelSizeY / geometry.pixelSizeX;
  switch (choice.method) {
    case "given": {
      if (known === undefined) return refuse("beamCentre", sample);
      const [x, y] = known.value;
      if (!(Number.isFinite(x) && Number.isFinite(y)))
        return refuse("beamCentre", sample, `finite; ${known.from} says ${x}, ${y}`);
      return success(found({ x, y, method: "given", from: known.from }));
    }
    case "direct-beam": {
      const beamRun = inputs.runs.emptyBeam ?? inputs.runs.sampleTransmission ?? inputs.runs.emptyCellTransmission;
      if (beamRun === undefined)
        return failure("missing", "a centre by direct beam needs a direct-beam run: give runs.emptyBeam", {
          field: "runs.emptyBeam",
        });
      const beam = findDirectBeam(beamRun.frame);
      if (!beam.ok) return named(beam.fault, beamRun.file, `runs.${beamRun.role}`);
      const { x, y, xSigma, ySigma } = beam.value;
      return success({
        ...found({ x, y, xSigma, ySigma, method: "direct-beam", from: `runs.${beamRun.role}` }, { file: beamRun.file }),
        beamRun,
      });
    }
    case "symmetry": {
      const fit = centreBySymmetry({ width, height, counts, mask }, { aspect, ...start });
      if (!fit.ok) return named(fit.fault, sample.file, "beamCentre");
      const { x, y, xSigma, ySigma, chiSquare } = fit.value;
      return success(found({ x, y, xSigma, ySigma, method: "symmetry", from: "runs.sample" }, { chiSquare }));
    }
    case "rings": {
      const { pixelSizeX, pixelSizeY, wavelength, distance } = geometry;
      const fit = centreFromRings(
        { width, height, counts, mask },
        { dSpacing: choice.dSpacing_A, pixelSize: [pixelSizeX, pixelSizeY], wavelength, distance, ...start },
      );
      if (!fit.ok) return named(fit.fault, sample.file, "beamCentre");
      const { x, y, xSigma, ySigma, order, distance: ringDistance, distanceSigma } = fit.value;
      return success(
        found(
          { x, y, xSigma, ySigma, method: "rings", from: "runs.sample" },
          {
            dSpacing_A: choice.dSpacing_A,
            order,
            ...(ringDistance !== undefined && {
              distanceByRing_m: ringDistance,
              distanceByRing_m_sigma: distanceSigma,
            }),
          },
        ),
      );
    }
  }
}

function found(centre: BeamCentre, details: Readonly<Record<string, unknown>> = {}): FoundCentre {
  const { x, y, xSigma, ySigma, method, from } = centre;
  const sigma = xSigma === undefined || ySigma === undefined ? {} : { beamCentre_px_sigma: [xSigma, ySigma] };
  return {
    centre,
    entry: {
      step: "beamCentre",
      status: "applied",
      parameters: { method, beamCentre_px: [x, y], ...sigma, ...details },
      sources: { beamCentre_px: from },
      warnings: [],
    },
  };
}

function named(
  fault: { readonly code: Parameters<typeof failure>[0]; readonly message: string },
  file: string,
  field: string,
) {
  const message = fault.message.includes(file) ? fault.message : `${file}: ${fault.message}`;
  return failure(fault.code, message, { file, field });
}

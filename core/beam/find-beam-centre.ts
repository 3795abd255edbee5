import { addMask } from "../model/mask.ts";
import type { BeamCentre } from "../model/measured.ts";
import type { PlanBeamCentre } from "../model/plan.ts";
import { failure, type Result, success } from "../model/result.ts";
import { centreBySymmetry } from "./centre-by-symmetry.ts";
import { centreFromRings } from "./centre-from-rings.ts";
import { findDirectBeam } from "./centre-of-mass.ts";
import type { CountFrame } from "./count-frame.ts";
import { beamStopMask } from "./stop-mask.ts";
import { findStopShadow } from "./stop-shadow.ts";

export interface BeamCentreInputs {
  /** The scattering frame with its mask; for `symmetry` and `rings`. */
  readonly frame?: CountFrame;
  /** A direct-beam frame, stop out, with its own mask (not the scattering frame's beam stop); for `direct-beam`. */
  readonly directBeam?: CountFrame;
  /** The declared centre, px, and where it came from; for `given`, and where the search begins. */
  readonly given?: { readonly x: number; readonly y: number; readonly from: string };
  /** Pixel pitch along x and y, m. */
  readonly pixelSize?: readonly [number, number];
  /** angstrom */
  readonly wavelength?: number;
  /** m */
  readonly distance?: number;
}

/**
 * The beam centre by the plan's method, in array coordinates.
 *
 * @returns a fault that names what the method lacks, or why the frame does not decide
 */
export function findBeamCentre(plan: PlanBeamCentre, inputs: BeamCentreInputs): Result<BeamCentre> {
  const { frame, directBeam, given } = inputs;
  switch (plan.method) {
    case "given":
      if (given === undefined)
        return failure(
          "missing",
          "no beam centre is given: add beamCentre_px to the metadata or choose another method",
          {
            field: "metadata.all.beamCentre_px",
          },
        );
      return success({ x: given.x, y: given.y, method: "given", from: given.from });
    case "direct-beam": {
      if (directBeam === undefined)
        return failure("missing", "a centre by direct beam needs a direct-beam run: add runs.emptyBeam", {
          field: "runs.emptyBeam",
        });
      const beam = findDirectBeam(directBeam);
      return beam.ok ? success({ ...place(beam.value), method: "direct-beam", from: "centre of mass" }) : beam;
    }
    case "symmetry": {
      if (frame === undefined) return failure("missing", "a centre by symmetry needs the sample's frame");
      const aspect = aspectOf(inputs.pixelSize);
      const centre = centreBySymmetry(withoutStop(frame, aspect), { aspect, ...(given && { start: given }) });
      return centre.ok ? success({ ...place(centre.value), method: "symmetry", from: "symmetry of the halo" }) : centre;
    }
    case "rings": {
      if (frame === undefined) return failure("missing", "a centre by rings needs the frame with the rings");
      const ring = centreFromRings(frame, {
        dSpacing: plan.dSpacing_A,
        ...(inputs.pixelSize && { pixelSize: inputs.pixelSize }),
        ...(inputs.wavelength !== undefined && { wavelength: inputs.wavelength }),
        ...(inputs.distance !== undefined && { distance: inputs.distance }),
        ...(given && { start: given }),
      });
      return ring.ok ? success({ ...place(ring.value), method: "rings", from: `ring of ${plan.dSpacing_A} Å` }) : ring;
    }
  }
}

function place(p: { x: number; y: number; xSigma: number; ySigma: number }) {
  return { x: p.x, y: p.y, xSigma: p.xSigma, ySigma: p.ySigma };
}

/** Pixel pitch along y over pitch along x; 1 where unknown. */
export function aspectOf(pixelSize: readonly [number, number] | undefined): number {
  return pixelSize === undefined ? 1 : pixelSize[1] / pixelSize[0];
}

/** The frame with the stop's shadow masked, if one shows: an off-centre shadow would pull the centre away from it. */
function withoutStop(frame: CountFrame, aspect: number): CountFrame {
  const shadow = findStopShadow(frame, { aspect });
  if (!shadow.found) return frame;
  const mask = frame.mask.slice();
  addMask(mask, beamStopMask(shadow.outline, shadow.penumbra.value, frame.width, frame.height));
  return { ...frame, mask };
}

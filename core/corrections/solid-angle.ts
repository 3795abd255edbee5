import { success } from "../model/result.ts";
import { applied, type Correction, notApplied, SCATTERING_ROLES } from "./correction.ts";
import { CORRECTION_DEFAULTS } from "./defaults.ts";
import { multiplyNorm } from "./estimate-parts.ts";

const KEY = "corrections.solidAngle";

/** Intensity per steradian: W *= solid angle of the pixel. */
export const solidAngle: Correction = {
  key: "solidAngle",
  roles: SCATTERING_ROLES,
  prepare({ settings, runs, maps }, role) {
    const method = settings.solidAngle ?? CORRECTION_DEFAULTS.solidAngle;
    if (method === "none") return notApplied("solidAngle", `switched off by ${KEY}`);
    const run = runs[role];
    if (run === undefined) throw new TypeError(`there is no run ${role}`);
    // Both runs fall on the same pixels; a cell that was measured elsewhere is refused when the runs are compared.
    const { geometry, metadata } = runs.sample;
    const omega = maps.solidAngle(geometry, method);
    const sources: Record<string, string> = { method: settings.solidAngle === undefined ? "default" : KEY };
    if (metadata.distance !== undefined) sources["distance_m"] = metadata.distance.from;
    if (metadata.pixelSize !== undefined) sources["pixelSize_mm"] = metadata.pixelSize.from;
    return success((target) => ({
      effect: multiplyNorm(target, omega),
      ...applied(
        "solidAngle",
        {
          method,
          distance_m: geometry.distance,
          pixelSize_mm: [geometry.pixelSizeX * 1e3, geometry.pixelSizeY * 1e3],
        },
        sources,
      ),
    }));
  },
};

import { failure, success } from "../model/result.ts";
import { applied, type Correction, notApplied, SCATTERING_ROLES } from "./correction.ts";
import { CORRECTION_DEFAULTS } from "./defaults.ts";
import { multiplyNorm, sharedScatter } from "./estimate-parts.ts";
import { obliquePathFactor } from "./oblique-path.ts";

const KEY = "corrections.transmission";
/** A normal error is larger once in 370 times. */
const CHANCE_SIGMAS = 3;

/** What the sample lets through: W *= T, once, and the longer path of slanted neutrons, A(2theta)/T, where asked for. */
export const transmission: Correction = {
  key: "transmission",
  roles: SCATTERING_ROLES,
  prepare(context, role) {
    if (role !== "sample" && role !== "emptyCell") throw new TypeError(`${role} has no transmission`);
    const choice = context.settings.transmission;
    if (choice === "none" || (typeof choice === "object" && choice[role] === "none"))
      return notApplied("transmission", `switched off by ${typeof choice === "string" ? KEY : `${KEY}.${role}`}`);
    const known = context.transmission?.[role];
    if (known === undefined) {
      const inFile = context.runs[role]?.metadata.transmission;
      const hint =
        inFile === undefined ? "" : `; ${inFile.from} says ${inFile.value}, which the plan would have to give`;
      return notApplied("transmission", `${KEY}.${role} is not given and not measured${hint}`);
    }
    const { value, sigma, from, details, warnings } = known;
    // A measured one may come out above 1 by chance; then the slanted path can't be told from the straight one.
    if (!(value > 0 && value <= 1 + CHANCE_SIGMAS * (sigma ?? 0)))
      return failure("out-of-range", `the transmission of ${role} must be > 0 and <= 1, not ${value} (from ${from})`, {
        field: `${KEY}.${role}`,
      });
    const obliquePath =
      (typeof choice === "object" ? choice.obliquePath : undefined) ?? CORRECTION_DEFAULTS.obliquePath;
    const path = obliquePath
      ? obliquePathFactor(context.maps.cosTwoTheta(context.runs.sample.geometry), Math.min(value, 1))
      : undefined;
    return success((target) => {
      multiplyNorm(target, value);
      const slanted = path === undefined ? { factorMin: 1, factorMax: 1 } : multiplyNorm(target, path);
      const relativeSigma = sigma === undefined ? {} : { relativeSigma: sigma / value };
      target.common.push({ name: "transmission", value, ...relativeSigma, ...sharedScatter(known, -1) });
      const range =
        slanted.factorMin === undefined || slanted.factorMax === undefined
          ? {}
          : { factorMin: value * slanted.factorMin, factorMax: value * slanted.factorMax };
      return {
        ...applied(
          "transmission",
          {
            transmission: value,
            ...(sigma === undefined ? {} : { transmission_sigma: sigma }),
            obliquePath,
            ...details,
          },
          {
            transmission: from,
            obliquePath:
              typeof choice === "object" && choice.obliquePath !== undefined ? `${KEY}.obliquePath` : "default",
          },
        ),
        effect: range,
        ...relativeSigma,
        warnings: [
          ...(warnings ?? []),
          ...(value > 1 ? [`the transmission of ${role} is ${value}, above 1 within its uncertainty`] : []),
        ],
      };
    });
  },
};

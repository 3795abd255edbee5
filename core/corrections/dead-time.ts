import type { Frame } from "../model/frame.ts";
import { RUN_ROLES } from "../model/plan.ts";
import { failure, success } from "../model/result.ts";
import { applied, type Correction, notApplied } from "./correction.ts";
import { deadTimeFactor, deadTimeVarianceRatio, highestObservedRate } from "./dead-time-rate.ts";
import { CORRECTION_DEFAULTS } from "./defaults.ts";
import { signalSum } from "./estimate-parts.ts";
import { requiredNumber } from "./known-number.ts";

const KEY = "corrections.deadTime";
/** Beyond this share of the highest possible rate a small error of tau changes the result by several times as much. */
const DOUBTFUL_SHARE = 0.8;

/**
 * Counts that were lost while the counter was busy: value = f C. The variance is f^2 C (see deadTimeVarianceRatio), not
 * the (dn/dm)^2 C of Poisson counts. A pixel that is corrected by its bank's rate has f^2 C too.
 */
export const deadTime: Correction = {
  key: "deadTime",
  roles: RUN_ROLES,
  prepare({ settings, runs, branches }, role) {
    const choice = settings.deadTime;
    const run = runs[role];
    const estimate = branches[role];
    if (run === undefined || estimate === undefined) throw new TypeError(`there is no run ${role}`);
    if (choice === "none") return notApplied("deadTime", `switched off by ${KEY}`);
    if (choice === undefined) {
      const known = run.metadata.deadTime;
      const hint = known === undefined ? "" : `; ${known.from} says ${known.value} s`;
      return notApplied("deadTime", `${KEY} is not given${hint}`);
    }
    const tau = choice.tau_s === undefined ? run.metadata.deadTime : { value: choice.tau_s, from: `${KEY}.tau_s` };
    if (tau === undefined)
      return failure(
        "missing",
        `dead time needs its time constant, which ${run.file} does not give: set ${KEY}.tau_s`,
        {
          file: run.file,
          field: `${KEY}.tau_s`,
        },
      );
    if (tau.value === 0) return notApplied("deadTime", `${tau.from} is 0 s`);
    const time = requiredNumber(run, "countTime", "dead time");
    if (!time.ok) return time;

    const { model } = choice;
    const per = choice.per ?? CORRECTION_DEFAULTS.deadTimePer;
    const seconds = time.value.value;
    const limit = highestObservedRate(model, tau.value);
    const highest = per === "bank" ? bankCounts(run.frame) : highestCounts(run.frame, estimate.mask);
    if (!(highest / seconds < limit))
      return failure(
        "inconsistent",
        `${per === "bank" ? "the bank" : "a pixel"} of ${run.file} counts ${highest / seconds} 1/s; with tau ${tau.value} s a ${model} counter stays below ${limit} 1/s: check ${tau.from}, or mask the pixel`,
        { file: run.file, field: tau.from },
      );
    return success((target) => {
      const before = signalSum(target);
      const term = target.terms.find((part) => part.role === role);
      if (term === undefined || target.terms.length !== 1)
        throw new RangeError("dead time belongs to registered counts, before any other frame is subtracted");
      const { counts, mask } = { counts: term.counts, mask: target.mask };
      const value = new Float64Array(counts.length);
      const variance = new Float64Array(counts.length);
      const ofBank = per === "bank" ? deadTimeFactor(model, highest / seconds, tau.value) : undefined;
      let least = Infinity;
      let most = -Infinity;
      for (let p = 0; p < counts.length; p++) {
        if (mask[p] !== 0) continue;
        const rate = counts[p]! / seconds;
        const f = ofBank ?? deadTimeFactor(model, rate, tau.value);
        const ratio = ofBank === undefined ? deadTimeVarianceRatio(model, rate, tau.value) : 1;
        value[p] = f * term.value[p]!;
        variance[p] = f * f * ratio * term.variance[p]!;
        if (f < least) least = f;
        if (f > most) most = f;
      }
      target.terms = [{ ...term, value, variance }];
      return {
        ...applied(
          "deadTime",
          { model, tau_s: tau.value, per, countTime_s: seconds },
          {
            model: `${KEY}.model`,
            tau_s: tau.from,
            per: choice.per === undefined ? "default" : `${KEY}.per`,
            countTime_s: time.value.from,
          },
        ),
        effect: {
          ...(least <= most ? { factorMin: least, factorMax: most } : {}),
          signalBefore: before,
          signalAfter: signalSum(target),
        },
        warnings:
          highest / seconds > DOUBTFUL_SHARE * limit
            ? [
                `${run.file}: the rate is ${Math.round((100 * highest * 1) / seconds / limit)} % of the highest that its dead time allows`,
              ]
            : [],
      };
    });
  },
};

/** Everything that the bank registered, whatever the analysis masks: all of it made the bank busy. */
function bankCounts({ counts, mask }: Frame): number {
  let sum = 0;
  for (let p = 0; p < counts.length; p++) if (mask[p] === 0) sum += counts[p]!;
  return sum;
}

function highestCounts({ counts }: Frame, mask: Uint16Array): number {
  let most = 0;
  for (let p = 0; p < counts.length; p++) if (mask[p] === 0 && counts[p]! > most) most = counts[p]!;
  return most;
}

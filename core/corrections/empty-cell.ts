import { commonRelativeSigma, type Term } from "../model/estimate.ts";
import { failure, success } from "../model/result.ts";
import { applied, type Correction, notApplied } from "./correction.ts";
import { addToTerms, signalSum } from "./estimate-parts.ts";

/**
 * What the empty cell scatters: n_S - (W_S/W_E) n_E per pixel, each with its own monitor, transmission and path, so that
 * the signal stays in counts of the sample frame. The blocked beam that both hold keeps one term.
 */
export const emptyCell: Correction = {
  key: "emptyCell",
  roles: ["sample"],
  prepare({ settings, runs, branches }) {
    const run = runs.emptyCell;
    const cell = branches.emptyCell;
    if (run === undefined || cell === undefined) return notApplied("emptyCell", "runs.emptyCell is not given");
    const sample = runs.sample;
    if (run.geometry.distance !== sample.geometry.distance)
      return failure(
        "inconsistent",
        `the empty cell was measured at ${run.geometry.distance} m, the sample at ${sample.geometry.distance} m: give a cell run at the same distance`,
        { file: run.file, field: "runs.emptyCell" },
      );
    const warnings: string[] = [];
    if (run.geometry.wavelength !== sample.geometry.wavelength)
      warnings.push(
        `the empty cell was measured at ${run.geometry.wavelength} A, the sample at ${sample.geometry.wavelength} A`,
      );
    if (settings.normaliseBy === "none") warnings.push("the empty cell is subtracted without monitor or time");
    if (settings.transmission === "none") warnings.push("the empty cell is subtracted without transmissions");
    return success((target) => {
      const before = signalSum(target);
      const { mask, norm } = target;
      const minusRatio = new Float64Array(mask.length);
      let least = Infinity;
      let most = -Infinity;
      for (let p = 0; p < mask.length; p++) {
        if (mask[p] !== 0) continue;
        const ratio = norm[p]! / cell.norm[p]!;
        minusRatio[p] = -ratio;
        if (ratio < least) least = ratio;
        if (ratio > most) most = ratio;
      }
      target.cellSignal = subtractedSignal(cell.terms, minusRatio);
      for (const term of cell.terms) addToTerms(target, term, minusRatio);
      // What was divided out so far moves sample and cell together; what comes later, only what is left of them.
      target.common = [
        ...target.common.map((factor) => ({ ...factor, of: "sample" as const })),
        ...cell.common.map((factor) => ({ ...factor, of: "emptyCell" as const })),
      ];
      const relativeSigma = commonRelativeSigma(cell.common);
      return {
        ...applied("emptyCell", { file: run.file }, { file: "runs.emptyCell" }),
        effect: {
          ...(least <= most ? { factorMin: least, factorMax: most } : {}),
          signalBefore: before,
          signalAfter: signalSum(target),
        },
        ...(relativeSigma !== undefined && { relativeSigma }),
        warnings,
      };
    });
  },
};

/** What the cell's terms amount to in counts of the sample frame. */
function subtractedSignal(terms: readonly Term[], minusRatio: Float64Array): Float64Array {
  const signal = new Float64Array(minusRatio.length);
  for (const { coefficient, value } of terms)
    for (let p = 0; p < signal.length; p++) signal[p]! -= minusRatio[p]! * coefficient[p]! * value[p]!;
  return signal;
}

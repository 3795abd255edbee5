import type { PointResponse, ScaleFit } from "./merge.ts";

/** How a fit answers to one shared point, and which curve that point is of. */
export interface Lever extends PointResponse {
  /** 0: the first curve, which has no scale. */
  readonly curve: number;
  /** Intensity of the point as its own file has it. */
  readonly measured: number;
}

/** Covariance of the scales and constants of curves that are merged one after the other: s1, c1, s2, c2, ... */
export class ScaleCovariance {
  readonly #rows: number[][] = [];

  /**
   * One more fit. With J its answer to the scales and constants before it and C their covariance, its own is that of the
   * fit plus J C J^T, and J C with those before.
   */
  add(fit: ScaleFit, levers: readonly Lever[]): Pick<ScaleFit, "scaleSigma" | "constantSigma" | "covariance"> {
    const known = this.#rows.length;
    const jacobian = [new Array<number>(known).fill(0), new Array<number>(known).fill(0)] as const;
    for (const { curve, measured, scale, constant } of levers) {
      if (curve === 0) continue;
      const at = 2 * (curve - 1);
      for (const [row, moves] of [scale, constant].entries()) {
        jacobian[row]![at]! += moves * measured;
        jacobian[row]![at + 1]! += moves;
      }
    }
    const cross = jacobian.map((row) => this.#rows.map((known) => dot(row, known)));
    const own = [
      [fit.scaleSigma * fit.scaleSigma, fit.covariance],
      [fit.covariance, fit.constantSigma * fit.constantSigma],
    ].map((row, i) => row.map((value, j) => value + dot(cross[i]!, jacobian[j]!)));
    for (const [i, row] of this.#rows.entries()) row.push(cross[0]![i]!, cross[1]![i]!);
    for (const [i, row] of cross.entries()) this.#rows.push([...row, ...own[i]!]);
    return {
      scaleSigma: Math.sqrt(own[0]![0]!),
      constantSigma: Math.sqrt(own[1]![1]!),
      covariance: own[0]![1]!,
    };
  }
}

function dot(a: readonly number[], b: readonly number[]): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}

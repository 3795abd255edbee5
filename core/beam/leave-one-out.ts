import type { CountFrame } from "./count-frame.ts";
import type { FrameModel } from "./frame-model.ts";
import { type Climb, informationSolver } from "./likelihood-climb.ts";
import type { RimPixel } from "./rim-segments.ts";

/** A halo's fit that can forget some of its pixels. */
export class LeaveOneOut {
  private readonly model: FrameModel;
  private readonly parameters: Float64Array;
  private readonly information: Float64Array;

  constructor(model: FrameModel, { parameters }: Climb) {
    this.model = model;
    this.parameters = parameters;
    this.information = new Float64Array(model.size * model.size);
    model.evaluate(parameters, new Float64Array(model.size), this.information);
  }

  /** Sum and variance of the halo over `pixels` (times what the stop leaves free), as fitted without `without`. */
  predict(frame: CountFrame, pixels: readonly RimPixel[], without: readonly RimPixel[]) {
    const { model, parameters } = this;
    const n = model.size;
    const information = this.information.slice();
    const gradient = new Float64Array(n);
    const one = new Float64Array(n);
    for (const { p, x, y } of without) {
      one.fill(0);
      const mu = model.addExpected(parameters, x, y, { factor: 1, into: one });
      const residual = frame.counts[p]! / mu - 1;
      for (let i = 0; i < n; i++) {
        gradient[i]! -= residual * one[i]!;
        for (let j = 0; j <= i; j++) information[i * n + j]! -= (one[i]! * one[j]!) / mu;
      }
    }
    const solve = informationSolver(information, n);
    if (solve === undefined) return { sum: Number.NaN, variance: Number.NaN };
    const step = solve(gradient);
    const moved = parameters.map((value, i) => value + step[i]!);
    const along = new Float64Array(n);
    let sum = 0;
    for (const { x, y, open } of pixels) sum += open * model.addExpected(moved, x, y, { factor: open, into: along });
    const spread = solve(along);
    let variance = 0;
    for (let i = 0; i < n; i++) variance += along[i]! * spread[i]!;
    return { sum, variance };
  }
}

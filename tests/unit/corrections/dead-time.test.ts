import { describe, expect, it } from "vitest";
import {
  deadTimeFactor,
  deadTimeVarianceRatio,
  highestObservedRate,
  observedRate,
} from "../../../core/corrections/dead-time-rate.ts";
import { correct, faultOf, sketchContext } from "../../support/correction-context.ts";
import { uniformSource } from "../../support/random.ts";
import { inFile } from "../../support/run-builder.ts";
import { reference } from "../../support/shared-data.ts";

const TAU = 2e-6;

describe("rates of a counter with dead time", () => {
  it.each([
    // n/(1 + n tau) and n exp(-n tau), worked by hand to the digits shown.
    [1e4, 9803.921568627451, 9801.986733067553],
    [1e5, 83333.33333333333, 81873.07530779819],
    [4e5, 222222.2222222222, 179731.5856468886],
  ])("of %d 1/s are lost and found again", (rate, plain, paralysed) => {
    expect(observedRate("non-paralysable", rate, TAU) / plain - 1).toBeCloseTo(0, 12);
    expect(observedRate("paralysable", rate, TAU) / paralysed - 1).toBeCloseTo(0, 12);
    expect((plain * deadTimeFactor("non-paralysable", plain, TAU)) / rate - 1).toBeCloseTo(0, 12);
    expect((paralysed * deadTimeFactor("paralysable", paralysed, TAU)) / rate - 1).toBeCloseTo(0, 9);
  });

  it("agree with the table of check values", () => {
    const entry = reference("deadtime.inverse");
    if (entry === undefined) return;
    const expected = entry.expected as unknown as Record<string, number>;
    expect((1.5e5 * deadTimeFactor("non-paralysable", 1.5e5, TAU)) / expected["true_nonparalysable"]! - 1).toBeCloseTo(
      0,
      9,
    );
    expect((1.5e5 * deadTimeFactor("paralysable", 1.5e5, TAU)) / expected["true_paralysable"]! - 1).toBeCloseTo(0, 9);
  });

  it("have a highest value, beyond which nothing is made up", () => {
    // 1/(e tau) = 183939.720586 1/s at a true rate of 1/tau.
    expect(highestObservedRate("paralysable", TAU)).toBeCloseTo(183939.720586, 5);
    const top = highestObservedRate("paralysable", TAU);
    expect(deadTimeFactor("paralysable", top, TAU) * top * TAU).toBeCloseTo(1, 6);
    expect(deadTimeFactor("paralysable", top * 1.001, TAU)).toBeNaN();
    expect(deadTimeFactor("non-paralysable", 5e5, TAU)).toBeNaN();
    expect(deadTimeFactor("non-paralysable", 6e5, TAU)).toBeNaN();
  });

  it("come back on the low branch from 0 to the top", () => {
    for (let x = 0; x < 1; x += 0.01) {
      const m = x * Math.exp(-x);
      // Near the top dm/dx = 0, and rounding of m alone moves x by sqrt(2 epsilon).
      expect(Math.abs(Math.log(deadTimeFactor("paralysable", m, 1)) - x)).toBeLessThan(1e-13 + 3e-16 / (1 - x));
    }
  });

  it("of a pulsed source must be those inside the pulse", () => {
    // 2e4 1/s on average within a tenth of the time are 2e5 1/s: 1/(1 - 0.4).
    expect(deadTimeFactor("non-paralysable", 2e5, TAU)).toBeCloseTo(1.6666666666666667, 12);
    expect(deadTimeFactor("non-paralysable", 2e4, TAU)).toBeCloseTo(1.0416666666666667, 12);
  });

  it("of a paralysable counter have the scatter of its registered counts, propagated", () => {
    // n tau = 0.2: variance over mean of registered counts 1 - 2 x e^-x = 0.672508, slope dn/dm = e^x/(1 - x): over f sqrt(C)
    // that is sqrt(0.672508)/0.8 = 1.025082, with f = e^0.2 = 1.221403.
    const observed = 0.2 * Math.exp(-0.2);
    expect(deadTimeFactor("paralysable", observed, 1) / 1.22140275816 - 1).toBeCloseTo(0, 10);
    expect(Math.sqrt(deadTimeVarianceRatio("paralysable", observed, 1)) / 1.02508208419 - 1).toBeCloseTo(0, 10);
    expect(deadTimeVarianceRatio("non-paralysable", observed, 1)).toBe(1);
  });

  it("scatter less than Poisson counts, in a counter simulated event by event", () => {
    // Paralysable, n tau = 0.2: variance of the corrected count over f^2 m = 1.0508; 3000 runs know it to 2.6 %, so the
    // limit of 10 % fails by chance less than once in 1e4.
    const uniform = uniformSource(31);
    for (const model of ["non-paralysable", "paralysable"] as const) {
      const [tau, rate, time] = [0.2, 1, 300];
      const counts = Array.from({ length: 3000 }, () => registered(model, tau, rate, time, uniform));
      const mean = counts.reduce((sum, c) => sum + c, 0) / counts.length;
      const variance = counts.reduce((sum, c) => sum + (c - mean) ** 2, 0) / (counts.length - 1);
      const slope = derivative(model, mean / time, tau);
      const f = deadTimeFactor(model, mean / time, tau);
      const predicted = f * f * mean * deadTimeVarianceRatio(model, mean / time, tau);
      expect(Math.abs((slope * slope * variance) / predicted - 1)).toBeLessThan(0.1);
    }
  });
});

function derivative(model: "non-paralysable" | "paralysable", m: number, tau: number): number {
  const step = 1e-5 * m;
  const up = (m + step) * deadTimeFactor(model, m + step, tau);
  const down = (m - step) * deadTimeFactor(model, m - step, tau);
  return (up - down) / (2 * step);
}

/** Counts of a busy counter: events at random, each blind for tau, with paralysis also those that are not counted. */
function registered(model: string, tau: number, rate: number, time: number, uniform: () => number): number {
  let free = 0;
  let counted = 0;
  for (let t = -Math.log(1 - uniform()) / rate; t < time; t += -Math.log(1 - uniform()) / rate) {
    if (t >= free) counted++;
    if (t >= free || model === "paralysable") free = t + tau;
  }
  return counted;
}

describe("the dead-time correction", () => {
  const time = { countTime: inFile(0.1, "/entry/time") };
  const settings = {
    deadTime: { model: "non-paralysable", tau_s: TAU },
    normaliseBy: "none",
    solidAngle: "none",
  } as const;

  it("gives f C and f sqrt(C)", () => {
    const context = sketchContext(settings, { sample: { counts: [15000, 0], metadata: time } });
    const entry = correct(context).find(({ step }) => step === "deadTime")!;
    const term = context.branches.sample.terms[0]!;
    // 15000 in 0.1 s at 2 us: f = 1/0.7; sigma f sqrt(C) = 174.96, not f^2 sqrt(C) = 249.95.
    expect(term.value[0]).toBeCloseTo(21428.571428571428, 8);
    expect(Math.sqrt(term.variance[0]!)).toBeCloseTo(174.963553056, 8);
    expect([term.counts[0], term.value[1], term.variance[1]]).toEqual([15000, 0, 0]);
    expect(entry).toMatchObject({
      status: "applied",
      sources: { countTime_s: "/entry/time", tau_s: "corrections.deadTime.tau_s" },
    });
    expect(entry.effect).toMatchObject({ factorMin: 1, signalBefore: 15000 });
  });

  it("takes the rate of the whole bank where the bank is one counter, masked pixels included", () => {
    const masked = new Uint16Array([0, 0, 64]);
    const context = sketchContext(
      { ...settings, deadTime: { model: "non-paralysable", tau_s: TAU, per: "bank" } },
      { sample: { counts: [5000, 5000, 5000], metadata: time } },
      { mask: { bits: masked, parameters: {}, sources: {}, warnings: [] } },
    );
    correct(context);
    const term = context.branches.sample.terms[0]!;
    expect(term.value[0]).toBeCloseTo(5000 / 0.7, 8);
    expect(term.variance[0]).toBeCloseTo(5000 / 0.49, 8);
  });

  it("refuses a rate that the counter can't have, and a time constant or count time that nobody gave", () => {
    const impossible = sketchContext(settings, { sample: { counts: [60000], metadata: time } });
    expect(faultOf(impossible)).toMatchObject({ field: "corrections.deadTime.tau_s" });
    const paralysable = { ...settings, deadTime: { model: "paralysable", tau_s: TAU } } as const;
    expect(faultOf(sketchContext(paralysable, { sample: { counts: [19000], metadata: time } })).message).toContain(
      "paralysable",
    );
    expect(faultOf(sketchContext(settings, { sample: { counts: [1] } })).field).toBe("metadata.sample.countTime_s");
    const noTau = { ...settings, deadTime: { model: "non-paralysable" } } as const;
    expect(faultOf(sketchContext(noTau, { sample: { counts: [1], metadata: time } })).field).toBe(
      "corrections.deadTime.tau_s",
    );
  });

  it("does not let a masked pixel's rate decide", () => {
    const context = sketchContext(settings, {
      sample: { counts: [100, 1e9], mask: new Uint16Array([0, 4]), metadata: time },
    });
    correct(context);
    expect(context.branches.sample.terms[0]!.value[1]).toBe(0);
  });

  it("says what it would need where the plan does not ask for it", () => {
    const known = { ...time, deadTime: inFile(3e-6, "/entry/dead_time") };
    const entries = correct(
      sketchContext({ normaliseBy: "none", solidAngle: "none" }, { sample: { counts: [1], metadata: known } }),
    );
    expect(entries.find(({ step }) => step === "deadTime")).toMatchObject({
      status: "not applied",
      reason: "corrections.deadTime is not given; /entry/dead_time says 0.000003 s",
    });
  });
});

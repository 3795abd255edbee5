import { describe, expect, it } from "vitest";
import { rebinCurve, subtractCurve } from "../../core/curves/arithmetic.ts";
import { fitScale, mergeCurves } from "../../core/curves/merge.ts";
import { mergeMany } from "../../core/curves/merge-many.ts";
import { fitGuinier, fitPorod } from "../../core/curves/quick-look.ts";
import { sphereIntensity } from "../../core/curves/sphere.ts";
import type { Result } from "../../core/model/result.ts";
import { normalSource } from "../support/random.ts";

function value<T>(result: Result<T>): T {
  if (!result.ok) throw new Error(result.fault.message);
  return result.value;
}
const relative = (found: number, expected: number) => Math.abs(found / expected - 1);
const grid = (from: number, to: number, n: number) =>
  Float64Array.from({ length: n }, (_, i) => from + ((to - from) * i) / (n - 1));

describe("merging", () => {
  // Expected numbers: the same normal equations solved with a general linear-algebra library.
  const a = { intensity: [13.3, 10.57, 8.73, 7.29, 6.22], sigma: [0.15, 0.12, 0.1, 0.1, 0.09] };
  const b = { intensity: [10, 8, 6.5, 5.4, 4.6], sigma: [0.2, 0.18, 0.15, 0.14, 0.12] };

  it("finds scale and constant with the uncertainties of both curves", () => {
    const fit = value(fitScale(a, b, true));
    expect(relative(fit.scale, 1.30107385342)).toBeLessThan(1e-9);
    expect(relative(fit.constant, 0.245047897594)).toBeLessThan(1e-8);
    expect(relative(fit.scaleSigma, 0.0575484414415)).toBeLessThan(1e-8);
    expect(relative(fit.constantSigma, 0.374139884786)).toBeLessThan(1e-8);
    expect(relative(fit.covariance, -0.020750012628)).toBeLessThan(1e-8);
    expect(relative(fit.chi2, 0.150530275949)).toBeLessThan(1e-8);
    expect(fit.degreesOfFreedom).toBe(3);
  });

  it("finds them where the errors of a curve are alike, too", () => {
    // Effective variances iterated to a fixed point with a general library: 1.88612, 0.0213523, chi-square 0.376711.
    const even = (intensity: readonly number[], sigma: number) => ({ intensity, sigma: intensity.map(() => sigma) });
    const fit = value(fitScale(even([10, 8, 6, 4], 0.1), even([5.3, 4.2, 3.2, 2.1], 0.05), true));
    expect(relative(fit.scale, 1.88612099644)).toBeLessThan(1e-8);
    expect(relative(fit.constant, 0.0213523131673)).toBeLessThan(1e-6);
    expect(relative(fit.chi2, 0.37671095143)).toBeLessThan(1e-8);
  });

  it("returns the exact scale and constant of noise-free curves", () => {
    const fit = value(fitScale({ ...a, intensity: b.intensity.map((i) => 1.3 * i + 0.25) }, b, true));
    expect(Math.abs(fit.scale - 1.3)).toBeLessThan(1e-9);
    expect(Math.abs(fit.constant - 0.25)).toBeLessThan(1e-9);
  });

  it("keeps every point of both curves, in order of Q", () => {
    const low = { q: grid(0.01, 0.05, 9), intensity: grid(2, 1, 9), sigma: new Float64Array(9).fill(0.01) };
    const high = { q: grid(0.03, 0.1, 15), intensity: grid(3, 1, 15), sigma: new Float64Array(15).fill(0.02) };
    const merged = value(mergeCurves(low, high, { qMin: 0.03, qMax: 0.05, withConstant: false }));
    expect(merged.q.length).toBe(24);
    expect([...merged.q].every((q, i) => i === 0 || q >= merged.q[i - 1]!)).toBe(true);
    const first = merged.origin.indexOf(1);
    expect(merged.sigma[first]).toBeCloseTo(0.02 * merged.fit.scale, 12);
  });
});

describe("merging three curves, each onto the one before", () => {
  // One law, I = 5 exp(-20 Q), in three ranges; scales 2 and 7 to be found again. No point of the third meets the first.
  const ranges = [grid(0.01, 0.05, 21), grid(0.04, 0.1, 31), grid(0.09, 0.2, 56)] as const;
  const truth = [1, 2, 7] as const;
  const law = (q: number) => 5 * Math.exp(-20 * q);
  const curves = (draw: (mean: number, sigma: number) => number, noise = 0.01) =>
    ranges.map((q, k) => {
      const sigma = q.map((at) => (noise * law(at)) / truth[k]!);
      const intensity = q.map((at, i) => draw(law(at) / truth[k]!, sigma[i]!));
      return { name: `${k}`, points: { q, intensity, sigma } };
    });
  const all = { qMin: 0, qMax: 1, withConstant: false };

  it("gives the third the relative sigma of its own fit and of the second's, in quadrature", () => {
    const { fits } = value(
      mergeMany(
        curves((mean) => mean),
        all,
      ),
    );
    expect(fits.map(({ scale }) => scale)).toEqual([expect.closeTo(2, 9), expect.closeTo(7, 9)]);
    // Alike relative errors e of n pairs of points: sqrt(2) e/sqrt(n). Pairs: Q = 0.04..0.05 and 0.09..0.1 in steps of 0.002.
    const [second, third] = [(0.01 * Math.SQRT2) / Math.sqrt(6), (0.01 * Math.SQRT2) / Math.sqrt(6)];
    expect(relative(fits[0]!.scaleSigma / 2, second)).toBeLessThan(1e-9);
    expect(relative(fits[1]!.scaleSigma / 7, Math.hypot(second, third))).toBeLessThan(1e-9);
  });

  it.each([false, true])("has pulls of unit width (with a constant: %s)", (withConstant) => {
    // 400 repeats: mean 0.05, width 0.035; limits at four of these. With a constant the noise of the scaled curve pulls
    // the scale down (by 3 % at 1 % noise, where I changes by 20 % over the overlap), so the noise is less there.
    const draw = normalSource(withConstant ? 12 : 11);
    const [scales, constants]: [number[], number[]] = [[], []];
    for (let i = 0; i < 400; i++) {
      const { fits } = value(mergeMany(curves(draw, withConstant ? 0.002 : 0.01), { ...all, withConstant }));
      scales.push((fits[1]!.scale - 7) / fits[1]!.scaleSigma);
      if (withConstant) constants.push(fits[1]!.constant / fits[1]!.constantSigma);
    }
    for (const pulls of withConstant ? [scales, constants] : [scales]) {
      const mean = pulls.reduce((a, b) => a + b, 0) / pulls.length;
      const width = Math.sqrt(pulls.reduce((a, b) => a + (b - mean) ** 2, 0) / pulls.length);
      expect(Math.abs(mean)).toBeLessThan(0.2);
      expect(Math.abs(width - 1)).toBeLessThan(0.14);
    }
  });
});

describe("Guinier's law", () => {
  it("gives back an exact Gaussian and the sigma that its weights imply", () => {
    // I = 7 exp(-(40 Q)^2/3) with 1 % errors; sigma(Rg) from the normal equations.
    const q = grid(0.002, 0.02, 25);
    const intensity = q.map((at) => 7 * Math.exp(-((40 * at) ** 2) / 3));
    const fit = value(fitGuinier({ q, intensity, sigma: intensity.map((i) => i * 0.01) }, 0, 1));
    expect(relative(fit.rg, 40)).toBeLessThan(1e-9);
    expect(relative(fit.forwardIntensity, 7)).toBeLessThan(1e-9);
    expect(relative(fit.rgSigma, 0.615702968761)).toBeLessThan(1e-8);
  });

  it("on a sphere shows the known bias of its range", () => {
    // R = 50 A: true Rg is sqrt(3/5) R = 38.73 A; a fit with equal weights in ln I up to Q Rg = 1.16 gives 39.354.
    const q = grid(0.005, 0.03, 26);
    const intensity = q.map((at) => sphereIntensity(at, { radius: 50, volumeFraction: 0.01, contrast: 5e-6 }));
    const fit = value(fitGuinier({ q, intensity, sigma: intensity.map((i) => i * 0.01) }, 0, 1));
    expect(relative(fit.rg, 39.3541417961)).toBeLessThan(1e-7);
    expect(relative(fit.forwardIntensity, 13.1171958235)).toBeLessThan(1e-7);
    expect(fit.warnings).toEqual([]);
  });

  it("has pulls of unit width on noisy curves", () => {
    // 400 curves: the mean of the pulls scatters by 0.05, their width by 0.035; limits at more than 3 of these.
    const draw = normalSource(7);
    const q = grid(0.002, 0.02, 25);
    const pulls = Array.from({ length: 400 }, () => {
      const truth = q.map((at) => 7 * Math.exp(-((40 * at) ** 2) / 3));
      const sigma = truth.map((i) => i * 0.01);
      const fit = value(fitGuinier({ q, intensity: truth.map((i, k) => draw(i, sigma[k]!)), sigma }, 0, 1));
      return (fit.rg - 40) / fit.rgSigma;
    });
    const mean = pulls.reduce((a, b) => a + b, 0) / pulls.length;
    const width = Math.sqrt(pulls.reduce((a, b) => a + (b - mean) ** 2, 0) / pulls.length);
    expect(Math.abs(mean)).toBeLessThan(0.17);
    expect(Math.abs(width - 1)).toBeLessThan(0.12);
  });

  it("refuses a curve that rises, and says why", () => {
    const q = grid(0.01, 0.1, 10);
    const result = fitGuinier({ q, intensity: q.map((at) => 1 + at), sigma: q.map(() => 0.01) }, 0, 1);
    expect(result.ok).toBe(false);
  });
});

describe("Porod's law", () => {
  it("finds exponent and constant, and leaves out points without a logarithm", () => {
    const q = grid(0.1, 0.3, 21);
    const intensity = q.map((at) => 9.42477796e-6 / at ** 4);
    intensity[20] = -1e-4;
    const fit = value(fitPorod({ q, intensity, sigma: intensity.map((i) => Math.abs(i) * 0.02) }, 0.1, 0.3));
    expect(relative(fit.exponent, 4)).toBeLessThan(1e-9);
    expect(relative(fit.constant, 9.42477796e-6)).toBeLessThan(1e-8);
    expect(fit.skipped).toBe(1);
  });
});

describe("arithmetic", () => {
  it("subtracting a curve from itself gives 0 with both uncertainties", () => {
    const curve = { q: grid(0.01, 0.1, 10), intensity: grid(3, 1, 10), sigma: new Float64Array(10).fill(0.1) };
    const { curve: difference } = value(subtractCurve(curve, curve));
    for (let i = 0; i < 10; i++) {
      expect(Math.abs(difference.intensity[i]!)).toBeLessThan(1e-12);
      expect(relative(difference.sigma![i]!, 0.1 * Math.SQRT2)).toBeLessThan(1e-12);
    }
  });

  it("rebinning keeps a constant and shrinks sigma with the square root of the points", () => {
    const curve = {
      q: grid(0.01, 0.1, 10),
      intensity: new Float64Array(10).fill(2),
      sigma: new Float64Array(10).fill(0.1),
    };
    const rebinned = value(rebinCurve(curve, Float64Array.of(0.01, 0.0551, 0.1)));
    expect([...rebinned.intensity]).toEqual([2, 2]);
    expect(relative(rebinned.sigma![0]!, 0.1 / Math.sqrt(5))).toBeLessThan(1e-12);
  });
});

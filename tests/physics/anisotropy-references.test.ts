import { describe, expect, it } from "vitest";
import { measureAnisotropy } from "../../core/anisotropy/measures.ts";
import { hermansP2, maierSaupeAlignment, maierSaupeP2, rodP2 } from "../../core/anisotropy/orientation.ts";
import { ringPixels } from "../../core/anisotropy/ring-pixels.ts";
import { fitSineSquared, sectorDilution, sineSquaredFromSectors } from "../../core/anisotropy/sine-squared.ts";
import { alignmentWeights } from "../../core/curves/rod.ts";
import { rawEstimate } from "../support/estimate-builder.ts";
import { normalSource } from "../support/random.ts";

const DEGREE = Math.PI / 180;

/** A ring of `bins` equal cells of azimuth, each as one pixel whose value is given, with a norm of 1. */
function ring(bins: number, value: (phi: number) => number) {
  const phi = Float64Array.from({ length: bins }, (_, k) => (2 * Math.PI * (k + 0.5)) / bins);
  const estimate = rawEstimate(bins, 1, phi.map(value));
  const maps = { q: new Float64Array(bins).fill(0.05), phi };
  return { pixels: ringPixels(estimate, maps, { qMin: 0.04, qMax: 0.06 }, 0.02), phi };
}

describe("azimuthal shapes with a closed form", () => {
  // A_f = integral I cos 2(phi - phi0)/integral I; for A + B sin^2 phi: (B/4)/(A + B/2). Quadrature agrees.
  it.each([
    ["1 + 2 A cos 2(phi - 27 deg), A = 0.3", (phi: number) => 1 + 0.6 * Math.cos(2 * (phi - 27 * DEGREE)), 0.3, 27],
    ["1 + 2 sin^2 phi", (phi: number) => 1 + 2 * Math.sin(phi) ** 2, 0.25, 90],
    ["3 + sin^2 phi", (phi: number) => 3 + Math.sin(phi) ** 2, 0.0714285714286, 90],
    ["3 + 2 cos^2(phi - 25 deg)", (phi: number) => 3 + 2 * Math.cos(phi - 25 * DEGREE) ** 2, 0.125, 25],
  ] as const)("give alignment factor and axis of %s", (_name, shape, alignment, axis) => {
    const measured = measureAnisotropy(ring(720, (phi) => 1e6 * shape(phi)).pixels)!;
    expect(Math.abs(measured.alignment / alignment - 1)).toBeLessThan(1e-9);
    expect(Math.abs(measured.axis / DEGREE / axis - 1)).toBeLessThan(1e-9);
  });

  it("lose s_2 = sin(D)/D where the values are means over bins of width D, as the closed form says", () => {
    const width = (2 * Math.PI) / 36;
    // Exact mean of 3 + 2 cos^2(phi - 25 deg) over a bin: 4 + s cos 2(phi_k - 25 deg), s = sin(D)/D.
    const dilution = Math.sin(width) / width;
    const { pixels } = ring(36, (phi) => 1e6 * (4 + dilution * Math.cos(2 * (phi - 25 * DEGREE))));
    const measured = measureAnisotropy(pixels)!;
    expect(Math.abs(measured.alignment / 0.124366346256 - 1)).toBeLessThan(1e-9);
    expect(Math.abs(measured.alignment / sectorDilution(width / 2) / 0.125 - 1)).toBeLessThan(1e-9);
    expect(Math.abs(measured.axis / DEGREE / 25 - 1)).toBeLessThan(1e-9);
    // a2 = sin(D)/D cos(50 deg) and b2 = sin(D)/D sin(50 deg), beside a0 = 4.
    const { mean, coefficients } = measured.fit;
    expect(Math.abs(mean.value / 4e6 - 1)).toBeLessThan(1e-9);
    expect(Math.abs(dilution / 0.994930770045 - 1)).toBeLessThan(1e-11);
    expect(Math.abs((4 * coefficients[0]!) / 0.639529171481 - 1)).toBeLessThan(1e-9);
    expect(Math.abs((4 * coefficients[0]!) / dilution / 0.642787609687 - 1)).toBeLessThan(1e-9);
    expect(Math.abs((4 * coefficients[1]!) / dilution / 0.766044443119 - 1)).toBeLessThan(1e-9);
  });

  it("have the sigmas of Poisson counts over a full ring", () => {
    // N counts with alignment A: sigma(A) = sqrt((1 - 2 A^2)/(2 N)), sigma(axis) = 1/(2 A sqrt(2 N)), to first order;
    // 0.00221359436212 and 0.640586289075 deg for N = 1e5 and A = 0.1.
    const measured = measureAnisotropy(ring(720, (phi) => (1e5 / 720) * (1 + 0.2 * Math.cos(2 * phi))).pixels)!;
    expect(Math.abs(measured.alignmentSigma / 0.00221359436212 - 1)).toBeLessThan(0.002);
    expect(Math.abs(measured.axisSigma / DEGREE / 0.640586289075 - 1)).toBeLessThan(0.002);
  });

  it("have the sigmas of 36 equal bins with equal scatter", () => {
    // sigma_a2 = sigma sqrt(2/K)/s_2 = 0.0118451588539 for sigma 0.05 and 36 bins; sigma_Af = 0.00150337155489,
    // sigma_axis = 0.339338804994 deg. Here the variance is made the same for all bins by a large floor.
    // These are of first order in sigma, so that it is made a thousand times smaller.
    const small = 1e-3;
    const { pixels } = ring(36, (phi) => 3 + 2 * Math.cos(phi - 25 * DEGREE) ** 2);
    const flat = { ...pixels, gain: 1e-20, floor: new Float64Array(36).fill((0.05 * small) ** 2) };
    const measured = measureAnisotropy(flat)!;
    const dilution = sectorDilution(Math.PI / 36);
    // The scatter of A_f has a share of a2's and one of a0's: together they are the value of the closed form.
    const ofLevel = 0.125 * (0.05 / Math.sqrt(36) / 4);
    expect(Math.abs(Math.hypot(0.0118451588539 / 8, ofLevel) / 0.00150337155489 - 1)).toBeLessThan(1e-9);
    const expected = small * Math.hypot((0.0118451588539 / 8) * dilution, ofLevel);
    expect(Math.abs(measured.alignmentSigma / expected - 1)).toBeLessThan(1e-9);
    expect(Math.abs(measured.axisSigma / DEGREE / (small * 0.339338804994 * dilution) - 1)).toBeLessThan(1e-9);
  });
});

describe("second Legendre moments", () => {
  it.each([
    ["cos^2", new Map([[2, 1]]), 0.6, 0.4, undefined],
    ["sin^2", new Map([[2, -1]]), 0.2, -0.2, 0.4],
    ["constant", new Map<number, number>(), 1 / 3, 0, 0],
    [
      "cos^4",
      new Map([
        [2, 4 / 3],
        [4, 1 / 3],
      ]),
      5 / 7,
      4 / 7,
      undefined,
    ],
  ] as const)("of %s are the closed forms, and those of equatorial rods follow", (_name, even, cos2, p2, rods) => {
    const found = hermansP2(even);
    expect(Math.abs(found - p2)).toBeLessThan(1e-9);
    expect(Math.abs((2 * found + 1) / 3 - cos2)).toBeLessThan(1e-9);
    const ofRods = rodP2(found);
    if (rods === undefined) expect(ofRods).toBeUndefined();
    else expect(Math.abs(ofRods! - rods)).toBeLessThan(1e-9);
  });

  // <cos^2> = 1/(2 sqrt(m) D(sqrt m)) - 1/(2 m), values from a general mathematics library.
  const MEAN_SQUARES = new Map([
    [0.5, 0.379731954741],
    [1, 0.429230705828],
    [4, 0.704626592349],
    [10, 0.892727761409],
  ]);

  // S = 3/(4 sqrt(m) D(sqrt m)) - 3/(4m) - 1/2 with Dawson's integral D, and I1(m/2)/I0(m/2): Maier and Saupe's law,
  // values from a general mathematics library; quadrature agrees.
  it.each([
    [0.5, 0.0695979321115, 0.124033501918],
    [1, 0.143846058742, 0.242499612581],
    [2, 0.29689683653, 0.446389965896],
    [4, 0.556939888524, 0.697774657964],
    [5, 0.646399331906, undefined],
    [10, 0.839091642114, 0.893383137044],
    [30, 0.949086951971, undefined],
  ] as const)("of Maier and Saupe's law at m = %d", (m, p2, alignment) => {
    expect(Math.abs(maierSaupeP2(m) / p2 - 1)).toBeLessThan(1e-9);
    const meanSquare = MEAN_SQUARES.get(m);
    if (meanSquare !== undefined) expect(Math.abs((2 * maierSaupeP2(m) + 1) / 3 / meanSquare - 1)).toBeLessThan(1e-9);
    if (alignment !== undefined) expect(Math.abs(maierSaupeAlignment(m) / alignment - 1)).toBeLessThan(1e-9);
  });

  it("goes to 2m/15 for weak alignment", () => {
    for (const m of [1e-3, 1e-5]) expect(Math.abs(maierSaupeP2(m) / ((2 * m) / 15) - 1)).toBeLessThan(m);
  });

  it("of rods that scatter across themselves is -2 times that of their intensity", () => {
    // By the addition theorem of the Legendre polynomials, at m = 4: -0.278469944262 and 0.556939888524.
    const even = new Map(Array.from({ length: 20 }, (_, k) => [2 * k + 2, thinRodHarmonic(4, 2 * k + 2)] as const));
    const p2 = hermansP2(even);
    expect(Math.abs(p2 / -0.278469944262 - 1)).toBeLessThan(1e-9);
    expect(Math.abs(p2 / thinRodP2(4) - 1)).toBeLessThan(1e-9);
    expect(Math.abs(rodP2(p2)! / 0.556939888524 - 1)).toBeLessThan(1e-9);
    expect(Math.abs(rodP2(-0.278469944262)! - 0.556939888524)).toBeLessThan(1e-12);
  });

  it("needs more harmonics than the first three where the alignment is good", () => {
    // What P2 loses to the orders that are left out: the fit goes up to 12 by itself, and further where they show.
    const loss = (m: number, top: number) => {
      const orders = Array.from({ length: top / 2 }, (_, k) => 2 * k + 2);
      return Math.abs(hermansP2(new Map(orders.map((n) => [n, thinRodHarmonic(m, n)]))) / thinRodP2(m) - 1);
    };
    expect(loss(4, 6)).toBeGreaterThan(1e-3);
    expect(loss(4, 12)).toBeLessThan(2e-6);
    expect(loss(10, 6)).toBeGreaterThan(1e-2);
    expect(loss(10, 12)).toBeLessThan(2e-4);
    expect(loss(10, 20)).toBeLessThan(1e-6);
  });

  it("comes out of a fit to the pattern", () => {
    for (const [m, tolerance] of [
      [1, 1e-7],
      [4, 1e-5],
      [10, 1e-4],
    ] as const) {
      const measured = measureAnisotropy(ring(720, (phi) => 1e7 * thinRodIntensity(m, phi - 0.3)).pixels)!;
      expect(Math.abs(measured.p2Rods!.value / maierSaupeP2(m) - 1)).toBeLessThan(tolerance);
    }
  });

  it("are the same by the weights that the simulator's rods have", () => {
    // The share of rods normal to the direction psi: the last of the weights over alpha. Their grid leaves some 1e-5.
    const steps = 200;
    const thin = (psi: number) => alignmentWeights(Math.cos(psi), 4, steps)[steps]!;
    const reference = thin(Math.PI / 2) / thinRodIntensity(4, Math.PI / 2);
    for (const psi of [0, 0.4, 0.8, 1.2])
      expect(Math.abs(thin(psi) / thinRodIntensity(4, psi) / reference - 1)).toBeLessThan(1e-4);
  });
});

/**
 * Intensity of long thin rods with the law exp(m cos^2 beta) in a direction psi from the director: only rods normal to it
 * scatter, and those at an angle t around it have cos beta = sin psi cos t, so that I = int exp(m sin^2 psi cos^2 t) dt.
 */
function thinRodIntensity(m: number, psi: number): number {
  const turns = 64;
  let sum = 0;
  for (let k = 0; k < turns; k++)
    sum += Math.exp(m * Math.sin(psi) ** 2 * Math.cos((Math.PI * (k + 0.5)) / turns) ** 2) / turns;
  return sum;
}

/** Relative Fourier coefficient of order n: the mean over a full turn is exact to rounding for so smooth a pattern. */
function thinRodHarmonic(m: number, n: number): number {
  const turns = 256;
  let [mean, harmonic] = [0, 0];
  for (let k = 0; k < turns; k++) {
    const psi = (2 * Math.PI * k) / turns;
    const value = thinRodIntensity(m, psi);
    mean += value;
    harmonic += 2 * value * Math.cos(n * psi);
  }
  return harmonic / mean;
}

/** P2 of the intensity by Simpson's rule over u = cos psi. */
function thinRodP2(m: number): number {
  const steps = 2000;
  let [total, square] = [0, 0];
  for (let i = 0; i <= steps; i++) {
    const u = i / steps;
    const weight = (i === 0 || i === steps ? 1 : i % 2 === 1 ? 4 : 2) * thinRodIntensity(m, Math.acos(u));
    total += weight;
    square += weight * u * u;
  }
  return (3 * (square / total) - 1) / 2;
}

describe("the sine-squared law of magnetised samples", () => {
  it("comes back from sector means with their dilution taken out", () => {
    // A = 1.2, B = 0.8, sectors of 20 deg full width: means 1.20807378558 and 1.99192621442.
    const half = 10 * DEGREE;
    expect(Math.abs(sectorDilution(half) - 0.979815536051)).toBeLessThan(1e-12);
    const { a, b } = sineSquaredFromSectors(
      { value: 1.20807378558, sigma: 0.01 },
      { value: 1.99192621442, sigma: 0.02 },
      half,
    );
    expect(Math.abs(a.value - 1.2)).toBeLessThan(1e-10);
    expect(Math.abs(b.value - 0.8)).toBeLessThan(1e-10);
    // Standard propagation of two independent means.
    expect(Math.abs(b.sigma - Math.hypot(0.01, 0.02) / 0.979815536051)).toBeLessThan(1e-12);
  });

  it("is fitted about a given field, also where B is negative, and about a free one", () => {
    const law = (b: number) => (phi: number) => 1e5 * (1.2 + b * Math.sin(phi - 0.5) ** 2);
    const given = fitSineSquared(ring(720, law(0.8)).pixels, 0.5)!;
    const negative = fitSineSquared(ring(720, law(-0.8)).pixels, 0.5)!;
    const free = fitSineSquared(ring(720, law(0.8)).pixels)!;
    for (const [found, b] of [
      [given, 0.8],
      [negative, -0.8],
      [free, 0.8],
    ] as const) {
      expect(Math.abs(found.a / 1e5 - 1.2)).toBeLessThan(1e-9);
      expect(Math.abs(found.b / 1e5 - b)).toBeLessThan(1e-9);
    }
    expect(Math.abs(free.direction - 0.5)).toBeLessThan(1e-9);
    expect(given.directionSigma).toBeUndefined();
  });

  it("has the covariance that a linear least-squares fit of A and B has", () => {
    // With equal variance s^2 the normal matrix of (1, sin^2) over a full ring is K/s^2 [[1, 1/2], [1/2, 3/8]]; its
    // inverse is s^2/K [[3, -4], [-4, 8]].
    const [bins, sigma] = [720, 0.05];
    const { pixels } = ring(bins, (phi) => 1.2 + 0.8 * Math.sin(phi - 0.5) ** 2);
    const flat = { ...pixels, gain: 1e-12, floor: new Float64Array(bins).fill(sigma ** 2) };
    const unit = sigma ** 2 / bins;
    for (const field of [0.5, undefined]) {
      const found = fitSineSquared(flat, field)!;
      expect(Math.abs(found.aSigma ** 2 / (3 * unit) - 1)).toBeLessThan(1e-6);
      expect(Math.abs(found.bSigma ** 2 / (8 * unit) - 1)).toBeLessThan(1e-6);
      expect(Math.abs(found.covarianceAB / (-4 * unit) - 1)).toBeLessThan(1e-6);
    }
    // The direction's row: d I/d phi_H = -B sin 2 psi, orthogonal to both on a full ring: s^2/K * 2/B^2.
    const free = fitSineSquared(flat)!;
    expect(Math.abs(free.directionSigma! ** 2 / ((2 * unit) / 0.64) - 1)).toBeLessThan(1e-6);
    expect(Math.abs(free.covarianceDirection!.b)).toBeLessThan(1e-9);
  });

  it("states the scatter of many draws with a third of the angles missing", () => {
    const draw = normalSource(5);
    const bins = 120;
    const phi = Float64Array.from({ length: bins }, (_, k) => 0.6 + (4 * Math.PI * (k + 0.5)) / 3 / bins);
    const maps = { q: new Float64Array(bins).fill(0.05), phi };
    const pulls = { a: [] as number[], b: [] as number[], direction: [] as number[] };
    for (let k = 0; k < 200; k++) {
      const counts = phi.map((angle) => {
        const mean = 1000 * (1.2 + 0.8 * Math.sin(angle - 0.5) ** 2);
        return draw(mean, Math.sqrt(mean));
      });
      const found = fitSineSquared(ringPixels(rawEstimate(bins, 1, counts), maps, { qMin: 0.04, qMax: 0.06 }, 0.02))!;
      pulls.a.push((found.a - 1200) / found.aSigma);
      pulls.b.push((found.b - 800) / found.bSigma);
      pulls.direction.push((found.direction - 0.5) / found.directionSigma!);
    }
    // 200 draws: a pull's mean scatters by 0.07, its width by 0.05; four of these.
    for (const values of Object.values(pulls)) {
      const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
      const width = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length);
      expect(Math.abs(mean)).toBeLessThan(0.28);
      expect(Math.abs(width - 1)).toBeLessThan(0.2);
    }
  });
});

import { describe, expect, it } from "vitest";
import { beamIntensity, sumBeam, transmissionRatio } from "../../../core/beam/transmission.ts";
import { efficiencyRatio, tubeEfficiency, tubeRatio } from "../../../core/corrections/detector-efficiency.ts";
import { obliquePathFactor } from "../../../core/corrections/oblique-path.ts";
import { sensitivityFromFlood } from "../../../core/corrections/sensitivity.ts";
import { smoothGood } from "../../../core/corrections/smooth.ts";
import { fitStandard, incoherentLevel, isotropicLevel } from "../../../core/corrections/standard.ts";
import { cosElevationMap, cosTwoThetaMap } from "../../../core/geometry/maps.ts";
import { solidAngleMap } from "../../../core/geometry/solid-angle.ts";
import type { Estimate } from "../../../core/model/estimate.ts";
import { MASK_REASONS } from "../../../core/model/mask.ts";
import { sketchGeometry } from "../../support/correction-context.ts";
import { normalSource, poissonSource } from "../../support/random.ts";

const DEGREE = Math.PI / 180;
const cosine = (degrees: number) => new Float64Array([Math.cos(degrees * DEGREE)]);

describe("the oblique path", () => {
  it.each([
    // integral over the depth of T^(z + (1 - z) sec 2theta), over T.
    [0.9, 5, 0.999798796966],
    [0.9, 14, 0.998388998656],
    [0.9, 30, 0.991894433931],
    [0.5, 5, 0.99867731281],
    [0.5, 14, 0.989464774437],
    [0.5, 30, 0.948250975159],
    [0.2, 5, 0.996932393873],
    [0.2, 14, 0.975764298007],
    [0.2, 30, 0.885229088964],
  ])("at T = %d and %d deg is %d", (transmission, degrees, expected) => {
    expect(obliquePathFactor(cosine(degrees), transmission)[0]! / expected - 1).toBeCloseTo(0, 10);
  });

  it("agrees with a sum over depths, also where the formula changes over to its series", () => {
    for (const [t, degrees] of [
      [0.7, 20],
      [0.999, 0.05],
      [0.5, 0.06],
      [0.98, 1],
    ] as const) {
      const sec = 1 / Math.cos(degrees * DEGREE);
      const n = 20_000;
      let sum = 0;
      for (let i = 0; i < n; i++) {
        const z = (i + 0.5) / n;
        sum += t ** ((1 - z) * (sec - 1));
      }
      expect(Math.abs(obliquePathFactor(cosine(degrees), t)[0]! - sum / n)).toBeLessThan(1e-10);
    }
  });

  it("is 1 for a sample that lets everything through, and on the beam", () => {
    expect(obliquePathFactor(cosine(40), 1)[0]).toBe(1);
    expect(obliquePathFactor(cosine(0), 0.3)[0]).toBe(1);
    expect(() => obliquePathFactor(cosine(0), 0)).toThrow(RangeError);
  });
});

describe("the absorption of a detector", () => {
  it.each([
    // 3He of 2 bar at 295 K, 2 cm deep: Sigma = 0.2912654, 0.8737963, 1.7475926 1/cm at 2, 6, 12 A; 14 deg.
    [0.291265429107, 1.02235783804],
    [0.873796287321, 1.0109885633],
    [1.74759257464, 1.00317540878],
  ])("of Sigma %d 1/cm rises with angle", (sigma, ratio) => {
    expect(efficiencyRatio(cosine(14), sigma * 2)[0]! / ratio - 1).toBeCloseTo(0, 9);
  });
});

describe("a detector of upright tubes", () => {
  it("has the efficiency of its chords, averaged over the width", () => {
    // 3He of 10 bar at 295 K, radius 4 mm, 6 A: 4.36898143661 1/cm; by numerical integration over the diameter.
    const depth = 4.36898143661 * 0.8;
    expect(tubeEfficiency(depth) / 0.905054322891 - 1).toBeCloseTo(0, 9);
    expect(tubeEfficiency(depth / Math.cos(14 * DEGREE)) / 0.910368820182 - 1).toBeCloseTo(0, 9);
    // Thin: the mean chord, pi/4 of the diameter; black: everything.
    expect(tubeEfficiency(1e-6) / (1e-6 * (Math.PI / 4))).toBeCloseTo(1, 5);
    expect(tubeEfficiency(1e3)).toBeCloseTo(1, 4);
  });

  it("is as wide from every horizontal direction", () => {
    // A 5 mm pixel at (0.4975, 0.4975) m, 2 m away: w h cos^2(2theta) cos(alpha)/L^2 = 5.40643102049e-6 sr for a black tube.
    const bank = { ...sketchGeometry(200, 200), distance: 2 };
    const [omega, black] = [
      solidAngleMap(bank, "cosine-cubed"),
      tubeRatio(cosTwoThetaMap(bank), cosElevationMap(bank), 1e6),
    ];
    expect((omega.at(-1)! * black.at(-1)!) / 5.40643102049e-6 - 1).toBeCloseTo(0, 9);
    // In the beam's own plane the slope is 0, and the efficiency that of normal incidence.
    const level = { ...sketchGeometry(201, 1), distance: 2 };
    const cosines = cosTwoThetaMap(level);
    const ratio = tubeRatio(cosines, cosElevationMap(level), 1.2);
    for (let p = 0; p < 201; p++) expect(ratio[p]! * cosines[p]!).toBeCloseTo(1, 12);
  });

  it("finds between its table's steps what the integral has", () => {
    const bank = { ...sketchGeometry(64, 64), pixelSizeX: 0.02, pixelSizeY: 0.02, distance: 1 };
    const [cosines, slopes] = [cosTwoThetaMap(bank), cosElevationMap(bank)];
    const ratio = tubeRatio(cosines, slopes, 2);
    for (let p = 0; p < 4096; p += 97) {
      const exact = ((tubeEfficiency(2 / slopes[p]!) / tubeEfficiency(2)) * slopes[p]!) / cosines[p]!;
      expect(Math.abs(ratio[p]! / exact - 1)).toBeLessThan(2e-9);
    }
    expect(() => tubeRatio(cosines, slopes, 0)).toThrow(RangeError);
  });
});

describe("the sensitivity from a flood", () => {
  const counts = new Float64Array([400, 420, 380, 410, 0, 390, 800, 405, 395]);
  const geometry = { ...sketchGeometry(3, 3), pixelSizeX: 0.2, pixelSizeY: 0.2, distance: 1 };

  it("is that of a 3 x 3 bank worked by hand, the dead middle masked", () => {
    const expected = solidAngleMap(geometry, "cosine-cubed");
    const path = obliquePathFactor(cosTwoThetaMap(geometry), 0.5);
    for (let p = 0; p < 9; p++) expected[p]! *= path[p]!;
    const mask = new Uint16Array([0, 0, 0, 0, 2, 0, 0, 0, 0]);
    const {
      eta,
      goodPixels,
      mask: bits,
      relativeVariance,
    } = sensitivityFromFlood({ width: 3, height: 3, net: counts, variance: counts, mask, expected }, 0);
    const byHand = [
      0.914208775954, 0.901021262072, 0.868498337156, 0.879568374879, 1, 0.836662600495, 1.82841755191, 0.868841931283,
      0.902781166254,
    ];
    for (let p = 0; p < 9; p++) expect(eta[p]! / byHand[p]! - 1).toBeCloseTo(0, 9);
    expect(goodPixels).toBe(8);
    expect(bits[4]).toBe(MASK_REASONS.flood);
    expect(relativeVariance[0]).toBeCloseTo(1 / 400, 12);
  });

  it("masks dead rows and pixels far from the median, and makes no Infinity of them", () => {
    const width = 8;
    const net = new Float64Array(64).fill(1000);
    for (let x = 0; x < width; x++) net[3 * width + x] = 0;
    net[0] = 150;
    net[1] = 3500;
    net[2] = -4;
    const found = sensitivityFromFlood(
      { width, height: 8, net, variance: net, mask: new Uint16Array(64), expected: new Float64Array(64).fill(1) },
      0,
    );
    expect(found.outOfRange).toBe(11);
    expect([...found.mask].filter((bits) => bits === MASK_REASONS.flood).length).toBe(11);
    expect(found.eta.every(Number.isFinite) && found.relativeVariance.every(Number.isFinite)).toBe(true);
    expect(found.eta[20]).toBe(1);
  });

  it("has a flood of its own corrected flat", () => {
    const draw = poissonSource(5);
    const geometry = sketchGeometry(16, 16);
    const expected = solidAngleMap(geometry, "exact");
    const net = expected.map((omega, p) => draw(2000 * (omega / expected[0]!) * (0.8 + 0.4 * ((p % 7) / 7))));
    const { eta } = sensitivityFromFlood(
      { width: 16, height: 16, net, variance: net, mask: new Uint16Array(256), expected },
      0,
    );
    const flat = net.map((c, p) => c / (expected[p]! * eta[p]!));
    for (const value of flat) expect(value / flat[0]! - 1).toBeCloseTo(0, 12);
  });

  it("knows its own scatter, smoothed or not", () => {
    const n = 600;
    const size = 9 * 9;
    for (const [smooth, seed] of [
      [0, 3],
      [0.8, 4],
    ] as const) {
      const draw = poissonSource(seed);
      let pull2 = 0;
      for (let i = 0; i < n; i++) {
        const net = Float64Array.from({ length: size }, () => draw(400));
        const { eta, relativeVariance } = sensitivityFromFlood(
          {
            width: 9,
            height: 9,
            net,
            variance: net,
            mask: new Uint16Array(size),
            expected: new Float64Array(size).fill(1),
          },
          smooth,
        );
        pull2 += (eta[40]! - 1) ** 2 / relativeVariance[40]!;
      }
      // 1 +- sqrt(2/600) = 0.058, and the mean that eta is divided by holds the pixel itself (1/81, smoothed 0.1).
      expect(Math.abs(pull2 / n - 1)).toBeLessThan(smooth === 0 ? 0.25 : 0.35);
    }
  });

  it("knows the scatter of its sums too, which smoothing hardly changes", () => {
    const [n, side] = [300, 32];
    const draw = poissonSource(6);
    const block = Array.from({ length: side * side }, (_, p) => p).filter(
      (p) => p % side >= 12 && p % side < 20 && p >= 12 * side && p < 20 * side,
    );
    const mask = new Uint16Array(side * side);
    const expected = new Float64Array(side * side).fill(1);
    const [sums, predicted, asIfApart]: [number[], number[], number[]] = [[], [], []];
    for (let i = 0; i < n; i++) {
      const net = Float64Array.from({ length: side * side }, () => draw(400));
      const found = sensitivityFromFlood({ width: side, height: side, net, variance: net, mask, expected }, 1);
      const total = (of: (p: number) => number) => block.reduce((sum, p) => sum + of(p), 0);
      sums.push(total((p) => found.eta[p]! - 1));
      predicted.push(total((p) => found.eta[p]! ** 2 * found.sumRelativeVariance[p]!));
      asIfApart.push(total((p) => found.eta[p]! ** 2 * found.relativeVariance[p]!));
    }
    const mean = (values: readonly number[]) => values.reduce((sum, v) => sum + v, 0) / n;
    const observed = mean(sums.map((s) => s * s));
    // 64 pixels of 1024 hold 6 % of the mean that eta is divided by, and smoothing takes some 30 % off a block of 8 px.
    expect(observed / mean(predicted)).toBeGreaterThan(0.45);
    expect(observed / mean(predicted)).toBeLessThan(1);
    expect(observed / mean(asIfApart)).toBeGreaterThan(5);
  });

  it("knows how much pixels differ, beyond what its counts scatter", () => {
    const draw = poissonSource(8);
    const normal = normalSource(9);
    const net = Float64Array.from({ length: 4096 }, () => draw(2000 * normal(1, 0.05)));
    const { spread } = sensitivityFromFlood(
      { width: 64, height: 64, net, variance: net, mask: new Uint16Array(4096), expected: net.map(() => 1) },
      0,
    );
    // 4096 pixels tell a variance of 0.05^2 + 1/2000 to sqrt(2/4096) = 2.2 %; four of these.
    expect(Math.abs(spread / 0.05 ** 2 - 1)).toBeLessThan(0.11);
  });
});

describe("the sum over a direct beam", () => {
  const estimate = (): Estimate => {
    const counts = new Float64Array(25).fill(100);
    return {
      width: 5,
      height: 5,
      mask: new Uint16Array(25),
      terms: [
        { role: "emptyBeam", counts, value: counts, variance: counts, coefficient: new Float64Array(25).fill(1) },
      ],
      norm: new Float64Array(25).fill(1),
      normRelativeVariance: new Float64Array(25).fill(0.0004),
      common: [],
      background: 0,
    };
  };

  it("has the flood's scatter pixel by pixel, and that of pixels without a flood all at once", () => {
    const circle = { x: 2, y: 2, radius: 1 };
    const known = sumBeam(estimate(), circle, "emptyBeam");
    if (!known.ok) throw new Error(known.fault.message);
    // Five pixels of 100 counts, 2 % each: 5 x 100^2 x 0.0004.
    expect(known.value.sensitivityVariance).toBeCloseTo(20, 10);
    const pixels = new Uint16Array(25);
    for (const p of [12, 13]) pixels[p] = MASK_REASONS.flood;
    const half: Estimate = { ...estimate(), unknownNorm: { pixels, relativeVariance: 0.0025 } };
    for (const p of [12, 13]) half.normRelativeVariance![p] = 0;
    const found = sumBeam(half, circle, "emptyBeam");
    if (!found.ok) throw new Error(found.fault.message);
    // Three known ones, and 200 counts of which nobody knows better than 5 %: 3 x 4 + 10^2.
    expect(found.value.unknownSensitivity).toBe(200);
    expect(found.value.sensitivityVariance).toBeCloseTo(112, 10);
    const counts = { ...found.value, normalisation: 10, normalisationRelativeVariance: 0, attenuation: 1 };
    const { value, sigma, sensitivityRelativeSigma } = beamIntensity(counts);
    expect(value).toBe(50);
    expect(sensitivityRelativeSigma).toBeCloseTo(Math.sqrt(112) / 500, 12);
    expect(sigma).toBeCloseTo(Math.sqrt(500 + 112) / 10, 10);
    // The same pixels in both beams: their sensitivity cancels in a transmission.
    expect(transmissionRatio(counts, counts).sigma).toBeCloseTo(Math.sqrt(2 / 500), 12);
  });
});

describe("smoothing over good pixels", () => {
  it("leaves an even map alone, right up to its edges and holes, and reads nothing of a bad pixel", () => {
    const value = new Float64Array(49).fill(3);
    const good = new Uint8Array(49).fill(1);
    value[24] = Number.NaN;
    good[24] = 0;
    const smooth = smoothGood({ width: 7, height: 7, value, variance: new Float64Array(49).fill(1) }, good, 1.2);
    for (let p = 0; p < 49; p++) if (p !== 24) expect(smooth.value[p]).toBeCloseTo(3, 12);
    // Far from edges: variance (sum w^2)/(sum w)^2 -> 1/(4 pi sigma^2) for a Gaussian.
    const wide = {
      width: 41,
      height: 41,
      value: new Float64Array(1681).fill(1),
      variance: new Float64Array(1681).fill(1),
    };
    const middle = smoothGood(wide, new Uint8Array(1681).fill(1), 2).variance[840]!;
    expect(middle * 4 * Math.PI * 4).toBeCloseTo(1, 2);
  });
});

describe("the factor of a standard", () => {
  const q = new Float64Array([0.01, 0.02, 0.03, 0.04]);
  const reference = { q, intensity: new Float64Array([5.1, 4.95, 4.8, 4.6]), sigma: new Float64Array(4).fill(0.1) };
  const measured = {
    q,
    intensity: new Float64Array([1250, 1230, 1180, 1155]),
    sigma: new Float64Array([12, 11, 10, 11]),
  };

  it("is the fixed point of k = sum w R I / sum w I^2, w = 1/(s_R^2 + k^2 s_I^2)", () => {
    const fit = fitStandard(measured, reference);
    if (!fit.ok) throw new Error(fit.fault.message);
    expect(fit.value.value / 0.00404006344768 - 1).toBeCloseTo(0, 8);
    expect(fit.value.sigma / 4.54566165922e-5 - 1).toBeCloseTo(0, 8);
    expect(fit.value.chi2 / 0.230553203583 - 1).toBeCloseTo(0, 8);
  });

  it("interpolates the reference, takes a range and refuses what does not overlap", () => {
    const fine = {
      q: new Float64Array([0.005, 0.05]),
      intensity: new Float64Array([10, 1]),
      sigma: new Float64Array([0, 0]),
    };
    // A power law between two points, which is what the interpolation follows: exponent ln 10/ln 10 = 1.
    const line = { q, intensity: q.map((x) => (10 * 0.005) / x / 2), sigma: q.map(() => 0.1) };
    const fit = fitStandard(line, fine);
    expect(fit.ok && fit.value.value).toBeCloseTo(2, 12);
    expect(fitStandard(line, fine, { qMin: 0.01, qMax: 0.02 }).ok).toBe(false);
    expect(fitStandard(line, { ...fine, q: new Float64Array([0.1, 0.2]) }).ok).toBe(false);
  });

  it("scatters as it says", () => {
    const normal = normalSource(17);
    const n = 2000;
    let pull2 = 0;
    for (let i = 0; i < n; i++) {
      const noisy = (values: Float64Array, sigma: Float64Array) => values.map((v, k) => normal(v, sigma[k]!));
      const truth = reference.intensity.map((r) => r / 0.004);
      const fit = fitStandard(
        { q, intensity: noisy(truth, measured.sigma), sigma: measured.sigma },
        { ...reference, intensity: noisy(reference.intensity, reference.sigma) },
      );
      if (!fit.ok) throw new Error(fit.fault.message);
      pull2 += ((fit.value.value - 0.004) / fit.value.sigma) ** 2;
    }
    expect(Math.abs(pull2 / n - 1)).toBeLessThan(4 * Math.sqrt(2 / n) + 0.02);
  });

  it("has the levels of flat scatterers", () => {
    // Vanadium: 6.11 g/cm^3, 50.9415, 5.08 barn (Sears 1992, Neutron News 3, 26).
    expect(incoherentLevel(0.0722304605157, 5.08)).toBeCloseTo(0.0291994204755, 10);
    // Water as bound atoms: 168.272 barn a molecule.
    expect(incoherentLevel(0.0333677906013, 168.272)).toBeCloseTo(0.446816748635, 9);
    expect(isotropicLevel(0.5, 0.1)).toBeCloseTo(0.795774715459, 11);
    expect(isotropicLevel(0.55, 0.1)).toBeCloseTo(0.651088403558, 11);
    expect(() => isotropicLevel(0, 0.1)).toThrow(RangeError);
  });
});

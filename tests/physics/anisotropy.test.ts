import { describe, expect, it } from "vitest";
import { isotropyTest, measureAnisotropy } from "../../core/anisotropy/measures.ts";
import { hermansP2, maierSaupeAlignment, maierSaupeP2, maierSaupeStrength } from "../../core/anisotropy/orientation.ts";
import { ringPixels } from "../../core/anisotropy/ring-pixels.ts";
import { rawEstimate } from "../support/estimate-builder.ts";
import { poissonSource } from "../support/random.ts";

const SIZE = 96;
const CENTRE = { x: 46.3, y: 48.9 };
const DEGREE = Math.PI / 180;

/** Radius as Q and azimuth of each pixel about `centre`. */
function polarMaps(centre = CENTRE) {
  const q = new Float64Array(SIZE * SIZE);
  const phi = new Float64Array(SIZE * SIZE);
  for (let y = 0; y < SIZE; y++)
    for (let x = 0; x < SIZE; x++) {
      q[y * SIZE + x] = Math.hypot(x - centre.x, y - centre.y);
      phi[y * SIZE + x] = (Math.atan2(y - centre.y, x - centre.x) + 2 * Math.PI) % (2 * Math.PI);
    }
  return { q, phi };
}
const maps = polarMaps();

function pattern(shape: (phi: number, q: number) => number): Float64Array {
  return maps.q.map((q, p) => shape(maps.phi[p]!, q));
}

function measure(counts: Float64Array, mask?: Uint16Array, seen = maps) {
  const estimate = rawEstimate(SIZE, SIZE, counts, undefined, mask);
  const measured = measureAnisotropy(ringPixels(estimate, seen, { qMin: 15, qMax: 40 }, 1));
  if (measured === undefined) throw new Error("not decided");
  return measured;
}

function isotropyOf(counts: Float64Array, mask?: Uint16Array): number {
  const pixels = ringPixels(rawEstimate(SIZE, SIZE, counts, undefined, mask), maps, { qMin: 15, qMax: 40 }, 1);
  const found = isotropyTest(pixels);
  if (found === undefined) throw new Error("not decided");
  return found.p;
}

describe("orientation measures of analytic shapes", () => {
  it.each([
    ["cos^2 psi", [[2, 1]], 0.4],
    ["sin^2 psi", [[2, -1]], -0.2],
    ["a constant", [], 0],
    // cos^4 = 3/8 (1 + 4/3 cos 2 + 1/3 cos 4)
    [
      "cos^4 psi",
      [
        [2, 4 / 3],
        [4, 1 / 3],
      ],
      4 / 7,
    ],
  ] as const)("P2 of %s is the integral's closed form", (_name, even, expected) => {
    expect(Math.abs(hermansP2(new Map(even)) - expected)).toBeLessThan(1e-12);
  });

  // Closed form 1/(2 sqrt(m) D(sqrt m)) - 1/(2m) with Dawson's integral, from a general mathematics library.
  it.each([
    [0.5, 0.0695979321115],
    [1, 0.143846058742],
    [4, 0.556939888524],
    [10, 0.839091642114],
    [30, 0.949086951971],
  ])("P2 of exp(m cos^2 beta) at m = %d", (m, expected) => {
    expect(Math.abs(maierSaupeP2(m) - expected)).toBeLessThan(1e-9);
    expect(Math.abs(maierSaupeStrength(expected)! - m)).toBeLessThan(1e-5);
  });

  // I1(m/2)/I0(m/2), from a general mathematics library.
  it.each([
    [1, 0.242499612581],
    [4, 0.697774657964],
    [10, 0.893383137044],
  ])("alignment factor of the pattern exp(m cos^2 phi) at m = %d", (m, expected) => {
    expect(Math.abs(maierSaupeAlignment(m) - expected)).toBeLessThan(1e-11);
  });
});

describe("measures of noise-free frames", () => {
  it("find axis and alignment of 1 + 2 A cos 2(phi - phi0) under a steep radial fall", () => {
    const frame = pattern((phi, q) => (1e7 / q ** 3) * (1 + 0.6 * Math.cos(2 * (phi - 27 * DEGREE))));
    // Half the frame masked: missing angles are handled, not assumed.
    const mask = Uint16Array.from(maps.phi, (phi) => (phi > 1 && phi < 1 + (2 * Math.PI) / 3 ? 64 : 0));
    for (const measured of [measure(frame), measure(frame, mask)]) {
      expect(Math.abs(measured.axis / DEGREE - 27)).toBeLessThan(0.05);
      expect(Math.abs(measured.alignment - 0.3)).toBeLessThan(1e-3);
    }
  });

  it("find A and B of a magnetised sample, A + B sin^2(phi - phi_H)", () => {
    const measured = measure(pattern((phi) => 1000 * (1.2 + 0.8 * Math.sin(phi - 0.3) ** 2)));
    // The slope inside a ring is taken from the frame itself, which leaves some 1e-6.
    expect(Math.abs(measured.sineSquared!.a - 1200)).toBeLessThan(0.01);
    expect(Math.abs(measured.sineSquared!.b - 800)).toBeLessThan(0.01);
    expect(Math.abs(measured.axis - (0.3 + Math.PI / 2))).toBeLessThan(1e-6);
  });

  it("names a wrong centre by its odd harmonics and does not call it anisotropy", () => {
    const draw = poissonSource(11);
    const frame = pattern((_phi, q) => 3e5 / q ** 2).map((mean) => draw(mean));
    const shifted = measure(frame, undefined, polarMaps({ x: CENTRE.x + 0.5, y: CENTRE.y }));
    expect(shifted.pCentred).toBeLessThan(1e-6);
    expect(shifted.pIsotropic).toBeGreaterThan(1e-3);
  });
});

describe("measures of Poisson frames", () => {
  const third = Uint16Array.from(maps.phi, (phi) => (phi > 0.4 && phi < 0.4 + (2 * Math.PI) / 3 ? 64 : 0));

  // 100 frames: a pull's mean scatters by 0.1, its width by 0.07; limits at 3 of these, false alarm rate about 0.3 %
  // a number. Seeded, so a pass stays a pass.
  it.each([
    ["about 1 count a pixel", 1, false],
    ["about 1 count a pixel, a third of the angles masked", 1, true],
    ["about 100 counts a pixel, a third of the angles masked", 100, true],
  ] as const)("have pulls of unit width at %s", (_name, level, masked) => {
    const draw = poissonSource(masked ? 5 : 3);
    const truth = { axis: 70 * DEGREE, alignment: 0.25 };
    const mean = pattern((phi, q) => level * (20 / q) * (1 + 2 * truth.alignment * Math.cos(2 * (phi - truth.axis))));
    const pulls = { axis: [] as number[], alignment: [] as number[] };
    for (let k = 0; k < 100; k++) {
      const measured = measure(
        mean.map((value) => draw(value)),
        masked ? third : undefined,
      );
      pulls.axis.push((measured.axis - truth.axis) / measured.axisSigma);
      pulls.alignment.push((measured.alignment - truth.alignment) / measured.alignmentSigma);
    }
    for (const values of Object.values(pulls)) {
      const average = values.reduce((a, b) => a + b, 0) / values.length;
      const width = Math.sqrt(values.reduce((a, b) => a + (b - average) ** 2, 0) / values.length);
      expect(Math.abs(average)).toBeLessThan(0.3);
      expect(Math.abs(width - 1)).toBeLessThan(0.21);
    }
  });

  it("give isotropic frames p-values that are spread evenly, also with a third masked and few counts", () => {
    const draw = poissonSource(17);
    const mean = pattern((_phi, q) => 8 / q);
    const n = 200;
    for (const mask of [undefined, third]) {
      const sorted = Array.from({ length: n }, () =>
        isotropyOf(
          mean.map((value) => draw(value)),
          mask,
        ),
      ).sort((a, b) => a - b);
      // Kolmogorov and Smirnov's distance; 1.63/sqrt(n) is exceeded by chance once in 100.
      const distance = Math.max(...sorted.map((p, i) => Math.max(p - i / n, (i + 1) / n - p)));
      expect(distance).toBeLessThan(1.63 / Math.sqrt(n));
    }
  });

  it("give isotropic frames likelihood ratios that follow chi-square, at tens of counts a pixel", () => {
    const draw = poissonSource(23);
    const mean = pattern((_phi, q) => 1500 / q);
    const n = 60;
    const sorted = Array.from({ length: n }, () => {
      const { likelihoodRatio } = measure(
        mean.map((value) => draw(value)),
        third,
      );
      expect(likelihoodRatio.degreesOfFreedom).toBe(6);
      return likelihoodRatio.p;
    }).sort((a, b) => a - b);
    // Kolmogorov and Smirnov's distance; 1.63/sqrt(n) is exceeded by chance once in 100. Seeded.
    const distance = Math.max(...sorted.map((p, i) => Math.max(p - i / n, (i + 1) / n - p)));
    expect(distance).toBeLessThan(1.63 / Math.sqrt(n));
  });

  it("state the sigma that counting statistics allow", () => {
    // N counts evenly over a full ring with A = 0.1: sigma(A) = sqrt((1 - 2 A^2)/(2 N)) to first order; for N = 1e5 the
    // closed form of the binned sums gives 0.00221359 and 0.640586 deg.
    const ring = Array.from(maps.q).filter((q) => q >= 15 && q < 40).length;
    const frame = pattern((phi) => (1e5 / ring) * (1 + 0.2 * Math.cos(2 * phi)));
    const measured = measure(frame);
    expect(Math.abs(measured.alignmentSigma / 0.00221359436212 - 1)).toBeLessThan(0.01);
    expect(Math.abs(measured.axisSigma / DEGREE / 0.640586289075 - 1)).toBeLessThan(0.02);
  });
});

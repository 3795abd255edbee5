import { describe, expect, it } from "vitest";
import { measureAnisotropy } from "../../core/anisotropy/measures.ts";
import { ringPixels } from "../../core/anisotropy/ring-pixels.ts";
import { FlatBank, third } from "../support/anisotropy-frames.ts";
import { poissonSource } from "../support/random.ts";

const bank = new FlatBank({ x: 46.3, y: 48.9 });
const RING = { qMin: 0.03, qMax: 0.045 };
const Q_STEP = (2 * Math.PI * 0.005) / (2 * 6);
const DIRECTOR = 0.6;

/** A third of all directions, hidden on both sides of the beam: 60 of every 180 degrees. */
const bothSides = Uint16Array.from(bank.phi, (phi) => ((phi - 0.4 + Math.PI) % Math.PI < Math.PI / 3 ? 64 : 0));
const oneSide = third(bank);

/**
 * Long thin rods with the law exp(m cos^2 beta): only rods normal to a direction psi scatter into it, and those at an
 * angle t around it have cos beta = sin psi cos t, so that I = int exp(m sin^2 psi cos^2 t) dt.
 */
function thinRods(m: number) {
  const steps = 32;
  return (psi: number) => {
    let sum = 0;
    for (let k = 0; k < steps; k++)
      sum += Math.exp(m * Math.sin(psi) ** 2 * Math.cos((Math.PI * (k + 0.5)) / steps) ** 2);
    return sum;
  };
}

/** Flat particles scatter along their normals; with these spread as exp(m cos^2 phi) in the plane, so is the pattern. */
const plates = (m: number) => (psi: number) => Math.exp(m * Math.cos(psi) ** 2);

/** Alignment factor, and P2 about the strongest direction, by sums over the pattern. */
function truthOf(pattern: (psi: number) => number, strongest: number) {
  let [total, cosine, weighted, square] = [0, 0, 0, 0];
  const turns = 7200;
  for (let k = 0; k < turns; k++) {
    const psi = (2 * Math.PI * (k + 0.5)) / turns;
    const value = pattern(psi + strongest);
    total += value;
    cosine += value * Math.cos(2 * psi);
    weighted += value * Math.abs(Math.sin(psi));
    square += value * Math.abs(Math.sin(psi)) * Math.cos(psi) ** 2;
  }
  return { alignment: cosine / total, p2: (3 * (square / weighted) - 1) / 2 };
}

/** Sigmas: below, a pull is no longer Gaussian, and masked on both sides it widens to some 1.5. */
const CLEAR = 8;

const CASES = [
  ["thin rods, m = 1.5", thinRods(1.5), Math.PI / 2],
  ["thin rods, m = 4", thinRods(4), Math.PI / 2],
  ["thin rods, m = 10", thinRods(10), Math.PI / 2],
  ["plates, m = 3", plates(3), 0],
] as const;
const MASKS = [
  ["the whole ring", undefined],
  ["a third of the angles masked on one side", oneSide],
  ["a third of the directions masked on both sides", bothSides],
] as const;

describe.each(CASES)("the true measures of %s", (name, pattern, strongest) => {
  const truth = truthOf(pattern, strongest);
  const shape = bank.q.map((q, p) => (q >= RING.qMin && q < RING.qMax ? pattern(bank.phi[p]! - DIRECTOR) : 0));
  const total = shape.reduce((sum, value) => sum + value, 0);
  const pullsOf = (counts: Float64Array, mask: Uint16Array | undefined) => {
    const found = measureAnisotropy(ringPixels(bank.ground(counts, mask).estimate, bank, RING, Q_STEP));
    if (found === undefined) throw new Error("not decided");
    // An amplitude that is small against its sigma is biased up by chance, and its direction is not Gaussian.
    if (found.alignment < CLEAR * found.alignmentSigma) return [];
    const turn = ((found.axis - DIRECTOR - strongest + 2.5 * Math.PI) % Math.PI) - Math.PI / 2;
    return [
      (found.alignment - truth.alignment) / found.alignmentSigma,
      (found.p2 - truth.p2) / found.p2Sigma,
      turn / found.axisSigma,
    ] as const;
  };

  it.each(MASKS)("come out with %s, from 1e4 to 1e7 counts", (_mask, mask) => {
    // So sharp a peak behind a mask on both sides of the beam is beyond any fit; the next test says so.
    if (name.endsWith("10") && mask === bothSides) return;
    const pulls: number[] = [];
    for (const counts of [1e4, 1e5, 1e7]) {
      const mean = shape.map((value) => (value * counts) / total);
      // Without noise: what the harmonics that are not fitted leave, against the sigma of counting.
      for (const pull of pullsOf(mean, mask)) expect(Math.abs(pull)).toBeLessThan(0.6);
      const draw = poissonSource(counts / 1e3 + 1);
      for (let k = 0; k < 4; k++)
        pulls.push(
          ...pullsOf(
            mean.map((value) => draw(value)),
            mask,
          ),
        );
    }
    expect(pulls.length).toBeGreaterThan(10);
    // 12 to 36 pulls, of which each three hang together a little: the width scatters by 0.15 to 0.25. Seeded.
    const width = Math.sqrt(pulls.reduce((sum, pull) => sum + pull * pull, 0) / pulls.length);
    expect(width).toBeGreaterThan(0.5);
    expect(width).toBeLessThan(1.5);
    // 2 of 36 lie beyond 2 sigma by chance, 7 or more once in 200; seeded.
    expect(pulls.filter((pull) => Math.abs(pull) > 2).length).toBeLessThan(7);
  });
});

describe("a sharp peak that is masked on both sides of the beam", () => {
  it("is not told, or with a sigma that says how little is known", () => {
    const shape = bank.q.map((q, p) =>
      q >= RING.qMin && q < RING.qMax ? thinRods(10)(bank.phi[p]! - 0.4 - Math.PI / 6 + Math.PI / 2) : 0,
    );
    const draw = poissonSource(5);
    const counts = shape.map((value) => draw((value * 1e5) / shape.reduce((sum, one) => sum + one, 0)));
    const found = measureAnisotropy(ringPixels(bank.ground(counts, bothSides).estimate, bank, RING, Q_STEP));
    const { alignment } = truthOf(thinRods(10), Math.PI / 2);
    if (found !== undefined) expect(Math.abs(found.alignment - alignment)).toBeLessThan(4 * found.alignmentSigma);
  });
});

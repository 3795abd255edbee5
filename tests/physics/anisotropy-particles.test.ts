import { describe, expect, it } from "vitest";
import { measureAnisotropy } from "../../core/anisotropy/measures.ts";
import { ringPixels } from "../../core/anisotropy/ring-pixels.ts";
import { type EllipsoidShape, ellipsoidFormFactor } from "../../core/curves/ellipsoid.ts";
import { alignmentWeights, rodFormFactor } from "../../core/curves/rod.ts";
import { FlatBank, third } from "../support/anisotropy-frames.ts";
import { poissonSource } from "../support/random.ts";

const DEGREE = Math.PI / 180;
const bank = new FlatBank({ x: 46.3, y: 48.9 });
const Q_RANGE = { qMin: 0.03, qMax: 0.045 };
const Q_STEP = (2 * Math.PI * 0.005) / (2 * 6);
const DIRECTOR = 35 * DEGREE;

/** I(psi) on a grid of psi = 0..90 deg from the director: particles with the orientation law exp(m cos^2 beta). */
function orientedPattern(formFactor: (q: number, cosAlpha: number) => number, m: number) {
  const [steps, angles] = [240, 90];
  const cosines = Float64Array.from({ length: steps + 1 }, (_, i) => Math.cos((Math.PI * i) / (2 * steps)));
  const weights = Array.from({ length: angles + 1 }, (_, k) => alignmentWeights(Math.cos(k * DEGREE), m, steps));
  return (q: number) => {
    const powers = cosines.map((cosAlpha) => formFactor(q, cosAlpha));
    return Float64Array.from(weights, (row) => row.reduce((sum, weight, i) => sum + weight * powers[i]!, 0));
  };
}

/** The pattern over Q and phi, interpolated between 12 values of Q; background makes it a real frame's. */
function frameShape(formFactor: (q: number, cosAlpha: number) => number, m: number) {
  const pattern = orientedPattern(formFactor, m);
  const nodes = Array.from({ length: 12 }, (_, k) => 0.025 + (0.025 * k) / 11);
  const tables = nodes.map(pattern);
  return (phi: number, q: number) => {
    const folded = Math.abs(((((phi - DIRECTOR) % Math.PI) + 1.5 * Math.PI) % Math.PI) - Math.PI / 2);
    const at = Math.min(89.999, folded / DEGREE);
    const k = Math.floor(at);
    const place = Math.min(10.999, Math.max(0, ((q - 0.025) / 0.025) * 11));
    const n = Math.floor(place);
    const along = (row: Float64Array) => row[k]! + (at - k) * (row[k + 1]! - row[k]!);
    return along(tables[n]!) + (place - n) * (along(tables[n + 1]!) - along(tables[n]!));
  };
}

/** What the measures must come to: integrals over the pattern, with the weight that the ring's pixels have. */
function truthOf(shape: (phi: number, q: number) => number, axis: number) {
  const [turns, radii] = [720, 12];
  let [total, cosine, sinTotal, sinSquare] = [0, 0, 0, 0];
  const level = Array.from({ length: radii }, () => 0);
  const rows = level.map((_, r) => {
    const q = Q_RANGE.qMin + ((Q_RANGE.qMax - Q_RANGE.qMin) * (r + 0.5)) / radii;
    return Float64Array.from({ length: turns }, (_, k) => shape((2 * Math.PI * (k + 0.5)) / turns, q));
  });
  for (const [r, row] of rows.entries()) {
    const q = Q_RANGE.qMin + ((Q_RANGE.qMax - Q_RANGE.qMin) * (r + 0.5)) / radii;
    for (const [k, value] of row.entries()) {
      const psi = (2 * Math.PI * (k + 0.5)) / turns - axis;
      total += q * value;
      cosine += q * value * Math.cos(2 * psi);
      const [c2, s] = [Math.cos(psi) ** 2, Math.abs(Math.sin(psi))];
      sinTotal += q * value * s;
      sinSquare += q * value * s * c2;
    }
  }
  return { alignment: cosine / total, p2: (3 * (sinSquare / sinTotal) - 1) / 2 };
}

const rods = (q: number, cosAlpha: number) => rodFormFactor(q, cosAlpha, { length: 600, radius: 25 });
const oblate: EllipsoidShape = { polarRadius: 20, equatorialRadius: 70 };
const discs = (q: number, cosAlpha: number) => ellipsoidFormFactor(q, cosAlpha, oblate);
const prolate: EllipsoidShape = { polarRadius: 120, equatorialRadius: 40 };
const cigars = (q: number, cosAlpha: number) => ellipsoidFormFactor(q, cosAlpha, prolate);

// Rods and cigars scatter strongest across the director, flat ellipsoids along it.
const CASES = [
  ["rods, m = 1.5", frameShape(rods, 1.5), DIRECTOR + Math.PI / 2],
  ["rods, m = 4", frameShape(rods, 4), DIRECTOR + Math.PI / 2],
  ["cigars, m = 3", frameShape(cigars, 3), DIRECTOR + Math.PI / 2],
  ["discs, m = 3", frameShape(discs, 3), DIRECTOR],
] as const;

const mask = third(bank);
const inRing = bank.q.map((q) => (q >= Q_RANGE.qMin && q < Q_RANGE.qMax ? 1 : 0));

function ringFrame(counts: number, shape: (phi: number, q: number) => number): Float64Array {
  const values = bank.q.map((q, p) => inRing[p]! * shape(bank.phi[p]!, q));
  const scale = counts / values.reduce((sum, value) => sum + value, 0);
  return values.map((value) => value * scale);
}

function measured(counts: Float64Array, masked: boolean) {
  const found = measureAnisotropy(
    ringPixels(bank.ground(counts, masked ? mask : undefined).estimate, bank, Q_RANGE, Q_STEP),
  );
  if (found === undefined) throw new Error("not decided");
  return found;
}

describe.each(CASES)("oriented %s", (_name, shape, axis) => {
  const truth = truthOf(shape, axis);

  it("come out with their alignment, axis and P2 where there is no noise, masked or not", () => {
    for (const masked of [false, true]) {
      const found = measured(ringFrame(1e9, shape), masked);
      // The pixel lattice samples the ring unevenly and rings are a pixel wide: some thousandths.
      expect(Math.abs(found.alignment - truth.alignment)).toBeLessThan(0.003);
      expect(Math.abs(found.p2 - truth.p2)).toBeLessThan(0.004);
      const turn = Math.abs(found.axis - axis) % Math.PI;
      expect(Math.min(turn, Math.PI - turn) / DEGREE).toBeLessThan(0.1);
    }
  });

  // Each pull must have a mean near 0 and a width near 1: with 24 draws the mean scatters by 0.2, the width by 0.15;
  // limits at 4 and 3.5 of these. Seeded.
  it.each([1e4, 1e5, 1e7])("have pulls of unit width at %d counts with a third of the angles masked", (counts) => {
    const draw = poissonSource(Math.round(counts) + 3);
    const mean = ringFrame(counts, shape);
    // What the pixel lattice makes of the pattern belongs to the frame and not to the noise.
    const expected = measured(ringFrame(1e9, shape), true);
    const pulls: Record<string, number[]> = {
      alignment: [],
      axis: [],
      p2: [],
      b: [],
      p2Rods: [],
      rods: [],
      pattern: [],
    };
    for (let k = 0; k < 24; k++) {
      const found = measured(
        mean.map((value) => draw(value)),
        true,
      );
      pulls["alignment"]!.push((found.alignment - expected.alignment) / found.alignmentSigma);
      const turn = ((found.axis - expected.axis + 1.5 * Math.PI) % Math.PI) - Math.PI / 2;
      pulls["axis"]!.push(turn / found.axisSigma);
      pulls["p2"]!.push((found.p2 - expected.p2) / found.p2Sigma);
      for (const [name, one, other] of [
        ["p2Rods", found.p2Rods, expected.p2Rods],
        ["rods", found.maierSaupe.rods, expected.maierSaupe.rods],
        ["pattern", found.maierSaupe.pattern, expected.maierSaupe.pattern],
      ] as const)
        if (one !== undefined && other !== undefined) pulls[name]!.push((one.value - other.value) / one.sigma);
      const scale = counts / 1e9;
      pulls["b"]!.push((found.sineSquared!.b - scale * expected.sineSquared!.b) / found.sineSquared!.bSigma);
    }
    for (const [name, values] of Object.entries(pulls)) {
      // The law of equatorial rods does not hold for flat ellipsoids: no strength of it, no pull.
      if (values.length < 24) continue;
      const average = values.reduce((sum, value) => sum + value, 0) / values.length;
      const width = Math.sqrt(values.reduce((sum, value) => sum + (value - average) ** 2, 0) / (values.length - 1));
      expect(Math.abs(average), name).toBeLessThan(0.8);
      expect(Math.abs(width - 1), name).toBeLessThan(0.5);
    }
  });
});

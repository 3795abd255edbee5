import { describe, expect, it } from "vitest";
import { beamFootprint, leakedFraction, stopProjection } from "../../../core/beam/footprint.ts";

// Radii of 10 and 5 mm, 8 m apart, stop of 27.5 mm radius 7.9 m behind the sample: by similar triangles, by hand.
describe("the beam behind two apertures", () => {
  const collimation = { sourceAperture: 0.02, sampleAperture: 0.01, length: 8 };

  it("is as wide as similar triangles say", () => {
    // 10 mm 7.9/8 + 5 mm (1 + 7.9/8) = 9.875 + 9.9375.
    expect(beamFootprint(collimation, 7.9)!.outerRadius).toBeCloseTo(0.0198125, 12);
    expect(beamFootprint(collimation, 7.9)!.flatRadius).toBeCloseTo(6.25e-5, 12);
    expect(beamFootprint(collimation, 8)!.outerRadius).toBeCloseTo(0.02, 12);
  });

  it("stays unknown where an aperture is", () => {
    expect(beamFootprint({ sourceAperture: 0.02, length: 8 }, 8)).toBeUndefined();
  });
});

it("the stop's shadow is the stop magnified, with a penumbra from the sample aperture", () => {
  const shadow = stopProjection(0.0275, { stopDistance: 7.9, distance: 8, sampleAperture: 0.01 });
  expect(shadow.nominalRadius).toBeCloseTo(0.0278481012658, 12);
  expect(shadow.umbraRadius).toBeCloseTo(0.0277848101266, 12);
  expect(shadow.outerRadius).toBeCloseTo(0.0279113924051, 12);
});

describe("the leaked fraction of a round beam", () => {
  // Area of two overlapping discs; a simulation of 4e6 points gave the same to its noise.
  it.each([
    [5, 0],
    [7.6875, 0],
    [10, 0.0399537996806],
    [20, 0.342899282744],
  ])("27.5 mm stop, 19.8125 mm beam, %d mm off", (offset, expected) => {
    expect(leakedFraction(27.5, 19.8125, offset)).toBeCloseTo(expected, 9);
  });

  it("is 1 where they do not meet and the ring's area where the stop is inside the beam", () => {
    expect(leakedFraction(3, 2, 6)).toBe(1);
    expect(leakedFraction(3, 5, 1)).toBeCloseTo(1 - 9 / 25, 12);
  });

  it("agrees with counting points", () => {
    let out = 0;
    let all = 0;
    for (let i = -500; i <= 500; i++)
      for (let j = -500; j <= 500; j++) {
        if (i * i + j * j > 250_000) continue;
        all++;
        // Beam of radius 5 at x = 4, stop of radius 6.
        if ((i / 100 + 4) ** 2 + (j / 100) ** 2 > 36) out++;
      }
    expect(leakedFraction(6, 5, 4)).toBeCloseTo(out / all, 3);
  });
});

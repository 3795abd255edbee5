import { describe, expect, it } from "vitest";
import { beamStopMask } from "../../core/beam/stop-mask.ts";
import { findStopShadow, type NoStopShadow, type StopShadow } from "../../core/beam/stop-shadow.ts";
import { type BeamScene, countedFrame, expectedFrame } from "../support/beam-scene.ts";
import { REAL_FRAME, realFrame } from "../support/real-frame.ts";
import { hasShared } from "../support/shared-data.ts";

function found(shadow: StopShadow | NoStopShadow): StopShadow {
  if (!shadow.found) throw new Error(shadow.reason);
  return shadow;
}

const DEGREE = Math.PI / 180;

describe.skipIf(!hasShared(REAL_FRAME))("the shadow in the real frame", async () => {
  const frame = await realFrame();
  const shadow = found(findStopShadow(frame));
  const { outline } = shadow;
  if (outline.shape !== "rectangle") throw new Error("the square stop was taken for a circle");

  it("has the centre, size and turn of an independent fit", () => {
    expect(Math.abs(outline.x - 59.983)).toBeLessThan(0.05);
    expect(Math.abs(outline.y - 63.554)).toBeLessThan(0.05);
    expect(Math.abs(outline.width - 14.157)).toBeLessThan(0.08);
    expect(Math.abs(outline.height - 14.344)).toBeLessThan(0.08);
    expect(Math.abs(outline.turn / DEGREE + 2.92)).toBeLessThan(0.4);
  });

  it("has its edges, penumbra and level", () => {
    // Edges on the centre lines: half the size over the cosine of the turn.
    const half = (size: number) => size / 2 / Math.cos(outline.turn);
    expect(Math.abs(outline.x - half(outline.width) - 52.895)).toBeLessThan(0.06);
    expect(Math.abs(outline.x + half(outline.width) - 67.07)).toBeLessThan(0.06);
    expect(Math.abs(outline.y - half(outline.height) - 56.373)).toBeLessThan(0.06);
    expect(Math.abs(outline.y + half(outline.height) - 70.736)).toBeLessThan(0.06);
    expect(Math.abs(shadow.penumbra.value - 0.227)).toBeLessThan(0.05);
    expect(Math.abs(shadow.level.value - 1.446)).toBeLessThan(0.12);
  });

  it("has the sigmas of the independent fit within a third", () => {
    for (const [ours, theirs] of [
      [outline.xSigma!, 0.007],
      [outline.ySigma!, 0.006],
      [outline.widthSigma!, 0.017],
      [outline.turnSigma! / DEGREE, 0.07],
      [shadow.penumbra.sigma, 0.008],
    ] as const)
      expect(Math.abs(ours / theirs - 1)).toBeLessThan(0.34);
  });

  it("is covered by the automatic mask, penumbra included, and little else is", () => {
    const mask = beamStopMask(outline, shadow.penumbra.value, 128, 128);
    let masked = 0;
    for (let y = 0; y < 128; y++) {
      for (let x = 0; x < 128; x++) {
        const isMasked = mask[y * 128 + x] !== 0;
        if (isMasked) masked++;
        const lost = 1 - (shadow.expected(x, y) - shadow.level.value) / (shadow.halo(x, y) - shadow.level.value);
        if (lost > 2e-3) expect(isMasked, `(${x}, ${y}) loses ${lost}`).toBe(true);
      }
    }
    // The outline holds 203 pixels; one more on every side makes about 264.
    expect(masked).toBeGreaterThan(230);
    expect(masked).toBeLessThan(290);
  });
});

const base: BeamScene = {
  ...{ width: 80, height: 72, beam: { x: 40.3, y: 35.6 }, level: 0.4 },
  halo: (dx, dy) => 120 * Math.exp(-(dx * dx + dy * dy) / 98) + 12,
};
const round = { shape: "circle", x: 41.2, y: 34.9, size: 13, penumbra: 0.3 } as const;

// 8 draws, two coordinates: the pulls' width scatters by 0.18, their mean by 0.25; limits at three and a half of those.
const DRAWS = 8;
describe.each<[string, BeamScene]>([
  ["a round stop", { ...base, stop: round }],
  ["a turned rectangle", { ...base, stop: { ...round, shape: "rectangle", size: 15, height: 10, turn: 0.3 } }],
  ["a small stop", { ...base, stop: { ...round, size: 4 } }],
  ["a stop off the beam", { ...base, stop: { ...round, x: 51.3, y: 27.8 } }],
  ["a stop in weak, flat scattering", { ...base, halo: () => 6, level: 0.05, stop: round }],
  [
    "a stop before an anisotropic sample",
    { ...base, halo: (dx, dy) => 120 * Math.exp(-(dx * dx) / 300 - (dy * dy) / 60) + 12, stop: round },
  ],
])("%s", (_, scene) => {
  it("is found with an unbiased centre and honest sigmas", () => {
    const expected = expectedFrame(scene);
    const pulls: number[] = [];
    for (let k = 0; k < DRAWS; k++) {
      const { outline } = found(findStopShadow(countedFrame(expected, scene.width, 401 + k)));
      pulls.push((outline.x - scene.stop!.x) / outline.xSigma!, (outline.y - scene.stop!.y) / outline.ySigma!);
    }
    const mean = pulls.reduce((a, b) => a + b, 0) / pulls.length;
    expect(Math.abs(mean)).toBeLessThan(0.88);
    const width = Math.sqrt(pulls.reduce((a, b) => a + b * b, 0) / pulls.length);
    expect(width).toBeGreaterThan(0.4);
    expect(width).toBeLessThan(1.62);
  });
});

it("held by an arm and a wire is found all the same, and their pixels are told apart", () => {
  const scene = { ...base, stop: round };
  const expected = expectedFrame(scene);
  for (let y = 0; y < scene.height; y++) {
    for (let x = 0; x < scene.width; x++) {
      const isArm = y > round.y && Math.abs(x - 42) <= 1;
      const isWire = x < round.x && y === 33;
      if (isArm || isWire) expected[y * scene.width + x] = scene.level;
    }
  }
  const pulls: number[] = [];
  for (let k = 0; k < 4; k++) {
    const { outline, attached } = found(findStopShadow(countedFrame(expected, scene.width, 501 + k)));
    if (outline.shape !== "circle") throw new Error("the round stop was taken for a rectangle");
    pulls.push((outline.x - round.x) / outline.xSigma!, (outline.y - round.y) / outline.ySigma!);
    expect(Math.abs(outline.radius - round.size / 2)).toBeLessThan(0.15);
    // The arm runs 30 px up from the rim, three wide; the wire 34 px to the left.
    const onArm = attached.filter((p) => Math.abs((p % scene.width) - 42) <= 1 || Math.floor(p / scene.width) === 33);
    expect(onArm.length).toBeGreaterThan(60);
    expect(attached.length - onArm.length).toBeLessThan(20);
  }
  expect(Math.sqrt(pulls.reduce((a, b) => a + b * b, 0) / pulls.length)).toBeLessThan(1.8);
});

it("is not found where there is none, in a halo, stretched or not, or in a flat frame, and the reason is given", () => {
  const stretched = (dx: number, dy: number) => 60 * Math.exp(-(dx * dx) / 400 - (dy * dy) / 72) + 2;
  for (const halo of [
    base.halo,
    () => 8,
    stretched,
    (dx: number, dy: number) => 4000 / (20 + dx * dx + dy * dy) ** 1.2,
  ]) {
    const expected = expectedFrame({ ...base, halo });
    for (let seed = 1; seed <= 4; seed++) {
      const shadow = findStopShadow(countedFrame(expected, 80, seed));
      expect(shadow.found).toBe(false);
      if (!shadow.found) expect(shadow.reason.length).toBeGreaterThan(20);
    }
  }
});

it("is not claimed from a handful of counts", () => {
  const expected = expectedFrame({ ...base, stop: round });
  expect(findStopShadow(countedFrame(expected, 80, 7, 60)).found).toBe(false);
});

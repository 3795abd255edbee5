import { describe, expect, it } from "vitest";
import { blurredEdge } from "../../../core/beam/stop-edge.ts";
import {
  farthestOutline,
  nearestRimDirection,
  outlineDistance,
  SHAPE_SIZE,
  shadowFraction,
} from "../../../core/beam/stop-shape.ts";
import type { StopOutline } from "../../../core/model/measured.ts";

const edge = { value: 0, slope: 0, bend: 0 };

/** Normal distribution function by summing its density in steps of 1e-3. */
function normal(z: number): number {
  let sum = 0;
  for (let t = -8; t < z; t += 1e-3) sum += Math.exp(-0.5 * (t + 5e-4) ** 2) * 1e-3;
  return sum / Math.sqrt(2 * Math.PI);
}

describe("a blurred edge over a pixel", () => {
  it.each([
    [0.3, 0.25, 0],
    [-0.4, 0.25, 0.35],
    [0.1, 0.6, 0.7853981633974483],
  ])("%d px deep, penumbra %d, normal turned by %d rad, is the mean over 40 x 40 points", (depth, penumbra, turn) => {
    const [nx, ny] = [Math.cos(turn), Math.sin(turn)];
    const n = 40;
    let sum = 0;
    for (let i = 0; i < n; i++)
      for (let j = 0; j < n; j++) {
        const along = ((i + 0.5) / n - 0.5) * nx + ((j + 0.5) / n - 0.5) * ny;
        sum += normal((depth - along) / penumbra);
      }
    // Midpoint rule on 1/40 px: relative error of order (1/40 / penumbra)^2 / 24.
    expect(blurredEdge(depth, penumbra, nx, ny, edge).value).toBeCloseTo(sum / (n * n), 3);
  });

  it("has slope and bend that are its derivatives", () => {
    const h = 1e-4;
    const at = (depth: number) => blurredEdge(depth, 0.3, 0.96, 0.28, edge).value;
    const { slope, bend } = { ...blurredEdge(0.2, 0.3, 0.96, 0.28, edge) };
    expect(slope).toBeCloseTo((at(0.2 + h) - at(0.2 - h)) / (2 * h), 6);
    expect(bend).toBeCloseTo((at(0.2 + h) - 2 * at(0.2) + at(0.2 - h)) / (h * h), 4);
  });
});

describe.each([
  ["circle", [0.3, -0.2, 0.3, 4.6]],
  ["rectangle", [0.3, -0.2, 0.3, 9, 6, 0.06]],
] as const)("the shadow of a %s", (kind, shape) => {
  it("covers its own area", () => {
    const unused = new Float64Array(8);
    let sum = 0;
    for (let y = -12; y <= 12; y++) for (let x = -12; x <= 12; x++) sum += shadowFraction(kind, shape, x, y, unused);
    // Blur keeps the area. The turned rectangle's corners and the circle's curve are approximations of second order.
    const area = kind === "circle" ? Math.PI * shape[3] ** 2 : 54;
    expect(Math.abs(sum / area - 1)).toBeLessThan(kind === "circle" ? 0.002 : 1e-5);
  });

  it("has the derivatives that finite differences give", () => {
    const derivatives = new Float64Array(8);
    const unused = new Float64Array(8);
    const h = 1e-5;
    for (const [x, y] of [
      [4, 2],
      [-4, -1],
      [1, 3],
    ] as const) {
      shadowFraction(kind, shape, x, y, derivatives);
      for (let k = 0; k < SHAPE_SIZE[kind]; k++) {
        const up = [...shape];
        const down = [...shape];
        up[k]! += h;
        down[k]! -= h;
        const slope = (shadowFraction(kind, up, x, y, unused) - shadowFraction(kind, down, x, y, unused)) / (2 * h);
        // The pixel's tilt against the edge changes a little with place and turn, which the derivative leaves out.
        expect(Math.abs(derivatives[k]! - slope)).toBeLessThan(0.03 * Math.max(1, Math.abs(slope)));
      }
    }
  });
});

describe("distances to an outline", () => {
  const turned: StopOutline = { shape: "rectangle", x: 10, y: 20, width: 8, height: 4, turn: Math.PI / 2 };
  it("turn with it", () => {
    // Turned by 90 degrees: 4 wide, 8 high.
    expect(outlineDistance(turned, 10, 20)).toBeCloseTo(-2, 12);
    expect(outlineDistance(turned, 15, 20)).toBeCloseTo(3, 12);
    expect(outlineDistance(turned, 15, 28)).toBeCloseTo(5, 12);
    expect(nearestRimDirection(turned, 11, 20)[0]).toBeCloseTo(1, 12);
    expect(farthestOutline(turned, 10, 20)).toBeCloseTo(Math.sqrt(20), 12);
  });

  it("of a circle are to its rim", () => {
    const circle: StopOutline = { shape: "circle", x: 1, y: 2, radius: 5 };
    expect(outlineDistance(circle, 4, 6)).toBeCloseTo(0, 12);
    expect(nearestRimDirection(circle, 1, 3)).toEqual([0, 1]);
    expect(farthestOutline(circle, 4, 6)).toBeCloseTo(10, 12);
  });
});

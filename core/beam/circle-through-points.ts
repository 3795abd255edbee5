import { failure, type Result, success } from "../model/result.ts";

/** Relative size of the determinant below which rounding decides. */
const ON_A_LINE = 1e-12;

export interface Circle {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
}

/**
 * Circle through points in the sense of linear least squares: x^2 + y^2 = 2 xc x + 2 yc y + s, R^2 = s + xc^2 + yc^2.
 * A start value: with noise it errs towards small radii where the points cover less than half a turn.
 *
 * @returns a fault for fewer than three points and for points on a line
 */
export function circleThroughPoints(points: readonly (readonly [number, number])[]): Result<Circle> {
  if (points.length < 3) return failure("missing", `a circle needs three points, not ${points.length}`);
  // About the mean, where the equation for s parts from those for the centre.
  const meanX = points.reduce((sum, [x]) => sum + x, 0) / points.length;
  const meanY = points.reduce((sum, [, y]) => sum + y, 0) / points.length;
  let [xx, xy, yy, xr, yr, rr] = [0, 0, 0, 0, 0, 0];
  for (const [px, py] of points) {
    const x = px - meanX;
    const y = py - meanY;
    const r = x * x + y * y;
    xx += x * x;
    xy += x * y;
    yy += y * y;
    xr += x * r;
    yr += y * r;
    rr += r;
  }
  const determinant = xx * yy - xy * xy;
  if (!(determinant > ON_A_LINE * (xx + yy) * (xx + yy)))
    return failure("inconsistent", "the points lie on a line: no circle goes through them");
  const x = (xr * yy - yr * xy) / (2 * determinant);
  const y = (yr * xx - xr * xy) / (2 * determinant);
  return success({ x: x + meanX, y: y + meanY, radius: Math.sqrt(rr / points.length + x * x + y * y) });
}

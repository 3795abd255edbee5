import { inverse, Matrix } from "ml-matrix";
import { qMap } from "../geometry/maps.ts";
import type { Geometry } from "../model/geometry.ts";
import { type ChiSquareTest, chiSquareTest } from "./chi-square.ts";
import { fitEven } from "./even-fit.ts";
import { type AnisotropyGround, qStepOfPixel } from "./ground.ts";

import { ringSlopes } from "./ring-cells.ts";
import { type QRange, ringPixels } from "./ring-pixels.ts";
import { type FittedShapes, refitShapes } from "./shape-fit.ts";

/** How far the true centre lies from the one that was used; px of the array, x column, y row. */
export interface CentreError {
  readonly dx: number;
  readonly dy: number;
  readonly dxSigma: number;
  readonly dySigma: number;
  readonly covarianceXY: number;
  /** Whether the shift differs from none by more than counting. */
  readonly shift: ChiSquareTest;
  /** Whether the annuli agree on it; where they don't, lopsidedness has another cause (a leak, an uneven detector). */
  readonly agreement: ChiSquareTest | undefined;
}

/** d ln Q/d(centre) at every pixel, 1/px: how a pixel's Q moves with the centre. */
export interface CentreGradient {
  readonly byX: Float64Array;
  readonly byY: Float64Array;
}

/** px; Q is smooth on this scale outside the innermost pixel. */
const STEP = 0.05;

export function centreGradient(geometry: Geometry): CentreGradient {
  const { x, y } = geometry.beamCentre;
  const moved = (dx: number, dy: number) => qMap({ ...geometry, beamCentre: { x: x + dx, y: y + dy } });
  const slope = (up: Float64Array, down: Float64Array) =>
    up.map((value, p) => (value - down[p]!) / (STEP * (value + down[p]!)));
  return { byX: slope(moved(STEP, 0), moved(-STEP, 0)), byY: slope(moved(0, STEP), moved(0, -STEP)) };
}

/** What an annulus says of the centre: a shift and its information matrix. */
export interface CentreEvidence {
  readonly dx: number;
  readonly dy: number;
  readonly xx: number;
  readonly xy: number;
  readonly yy: number;
}

/**
 * The shift that the odd part of an annulus speaks for. A centre that is off by d shows each pixel at Q + dQ, so that an
 * intensity of slope s = d ln I/d ln Q seems to vary as 1 + s (d ln Q/dx dx + d ln Q/dy dy): a harmonic of order 1, fitted
 * beside the even ones. Flat rings say nothing.
 *
 * @param even the fit of the even orders
 * @returns undefined where the annulus does not decide
 */
export function centreEvidence(even: FittedShapes, gradient: CentreGradient): CentreEvidence | undefined {
  const { pixels } = even;
  const slopes = ringSlopes(pixels, even.levels);
  const { pixel, ring, count } = pixels;
  const column = (map: Float64Array) => {
    const values = new Float64Array(count);
    for (let i = 0; i < count; i++) values[i] = slopes[ring[i]!]! * map[pixel[i]!]!;
    return values;
  };
  const columns = [column(gradient.byX), column(gradient.byY), ...even.columns];
  const fit = refitShapes(even, columns, Float64Array.of(0, 0, ...even.coefficients));
  if (fit === undefined) return undefined;
  const information = inverse(fit.covariance.subMatrix(0, 1, 0, 1));
  const [dx, dy] = [fit.coefficients[0]!, fit.coefficients[1]!];
  return { dx, dy, xx: information.get(0, 0), xy: information.get(0, 1), yy: information.get(1, 1) };
}

/** The shift on which several annuli agree best. */
export function combineEvidence(evidence: readonly CentreEvidence[]): CentreError | undefined {
  if (evidence.length === 0) return undefined;
  const information = Matrix.zeros(2, 2);
  const right = Matrix.zeros(2, 1);
  for (const { dx, dy, xx, xy, yy } of evidence) {
    information.add(
      new Matrix([
        [xx, xy],
        [xy, yy],
      ]),
    );
    right.add(Matrix.columnVector([xx * dx + xy * dy, xy * dx + yy * dy]));
  }
  const covariance = inverse(information);
  const shift = covariance.mmul(right);
  const [x, y] = [shift.get(0, 0), shift.get(1, 0)];
  let spread = 0;
  for (const { dx, dy, xx, xy, yy } of evidence) {
    const [u, v] = [dx - x, dy - y];
    spread += xx * u * u + 2 * xy * u * v + yy * v * v;
  }
  const chi2 = right.get(0, 0) * x + right.get(1, 0) * y;
  const degrees = 2 * (evidence.length - 1);
  return {
    dx: x,
    dy: y,
    dxSigma: Math.sqrt(covariance.get(0, 0)),
    dySigma: Math.sqrt(covariance.get(1, 1)),
    covarianceXY: covariance.get(0, 1),
    shift: chiSquareTest(chi2, 2),
    agreement: degrees > 0 ? chiSquareTest(spread, degrees) : undefined,
  };
}

/** The centre's error from the annuli of a frame; pauses after each. */
export function* centreErrorInParts(
  ground: AnisotropyGround,
  annuli: readonly QRange[],
  gradient: CentreGradient,
): Generator<undefined, CentreError | undefined> {
  const qStep = qStepOfPixel(ground.geometry);
  const evidence: CentreEvidence[] = [];
  for (const annulus of annuli) {
    const even = fitEven(ringPixels(ground.estimate, ground.maps, annulus, qStep));
    const found = even && centreEvidence(even.best, gradient);
    if (found !== undefined) evidence.push(found);
    yield;
  }
  return combineEvidence(evidence);
}

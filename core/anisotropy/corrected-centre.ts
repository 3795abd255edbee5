import { azimuthMap, qMap } from "../geometry/maps.ts";
import type { Geometry } from "../model/geometry.ts";
import { type CentreError, type CentreGradient, centreErrorInParts } from "./centre-error.ts";
import { chiSquareTest } from "./chi-square.ts";
import type { AnisotropyGround } from "./ground.ts";
import { PROOF } from "./proof.ts";
import type { QRange } from "./ring-pixels.ts";

/** A centre that makes the frame even, where the given one does not. */
export interface CorrectedCentre {
  /** From the given centre to this one, with the evidence against the given one. */
  readonly error: CentreError;
  /** The frame about the corrected centre; undefined: the given one stands. */
  readonly ground: AnisotropyGround | undefined;
}

const MAX_ROUNDS = 6;
/** A step below this part of its sigma ends the search. */
const STILL = 0.05;
/** px; odd harmonics that ask for more than this do not come from a centre. */
const FURTHEST = 12;

/**
 * Moves the centre until the odd part of the annuli vanishes; pauses.
 * @param first    what the annuli say of the given centre
 * @param gradient of the given centre: it is nearly the same at the true one, and only sets how fast the search ends
 */
export function* correctCentreInParts(
  { error: first, gradient }: { readonly error: CentreError; readonly gradient: CentreGradient },
  ground: AnisotropyGround,
  annuli: readonly QRange[],
): Generator<undefined, CorrectedCentre> {
  if (first.shift.p >= PROOF) return { error: first, ground: undefined };
  let [dx, dy] = [first.dx, first.dy];
  let moved = aboutCentre(ground, dx, dy);
  for (let round = 1; round < MAX_ROUNDS; round++) {
    const rest = yield* centreErrorInParts(moved, annuli, gradient);
    if (rest === undefined || !(dx * dx + dy * dy < FURTHEST * FURTHEST)) return { error: first, ground: undefined };
    dx += rest.dx;
    dy += rest.dy;
    moved = aboutCentre(ground, dx, dy);
    if (Math.abs(rest.dx) > STILL * rest.dxSigma || Math.abs(rest.dy) > STILL * rest.dySigma) continue;
    return { error: withShift(rest, dx, dy), ground: moved };
  }
  return { error: first, ground: undefined };
}

/** The same frame about a centre that lies elsewhere. Norms stay: their solid angles move by far less than counting. */
function aboutCentre(ground: AnisotropyGround, dx: number, dy: number): AnisotropyGround {
  const { x, y } = ground.geometry.beamCentre;
  const geometry: Geometry = { ...ground.geometry, beamCentre: { x: x + dx, y: y + dy } };
  return { estimate: ground.estimate, geometry, maps: { q: qMap(geometry), phi: azimuthMap(geometry) } };
}

/** The whole shift with the uncertainty that it has where the frame is even. */
function withShift(rest: CentreError, dx: number, dy: number): CentreError {
  const { dxSigma, dySigma, covarianceXY: xy } = rest;
  const [xx, yy] = [dxSigma * dxSigma, dySigma * dySigma];
  const chi2 = (yy * dx * dx - 2 * xy * dx * dy + xx * dy * dy) / (xx * yy - xy * xy);
  return { ...rest, dx, dy, shift: chiSquareTest(chi2, 2) };
}

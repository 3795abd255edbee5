import type { Collimation } from "../model/geometry.ts";
import { atan2 } from "../model/steady-math.ts";

/** The direct beam on a plane behind two round apertures. */
export interface Footprint {
  /** Beyond this radius no unscattered neutron arrives (gravity aside), m. */
  readonly outerRadius: number;
  /** Within this radius the beam is even, m. */
  readonly flatRadius: number;
}

/**
 * Beam at the distance L behind the sample aperture: outer radius R1 L/L1 + R2 (1 + L/L1), flat top
 * |R1 L/L1 - R2 (1 + L/L1)|, R1 and R2 the radii of source and sample aperture, L1 between them (similar triangles).
 *
 * @param distance m
 * @returns undefined where an aperture or their distance is unknown
 */
export function beamFootprint(
  { sourceAperture, sampleAperture, length }: Collimation,
  distance: number,
): Footprint | undefined {
  if (sourceAperture === undefined || sampleAperture === undefined || length === undefined) return undefined;
  const source = (sourceAperture / 2) * (distance / length);
  const sample = (sampleAperture / 2) * (1 + distance / length);
  return { outerRadius: source + sample, flatRadius: Math.abs(source - sample) };
}

/** Shadow of a round stop that a sample of finite size casts on the detector, m. */
export interface StopProjection {
  readonly nominalRadius: number;
  readonly umbraRadius: number;
  readonly outerRadius: number;
}

/**
 * A sample point at height s casts the rim of a stop of radius R at L_b to R L2/L_b - s (L2 - L_b)/L_b on the detector at
 * L2: nominal radius R L2/L_b, penumbra +- R2 (L2 - L_b)/L_b.
 */
export function stopProjection(
  stopRadius: number,
  { stopDistance, distance, sampleAperture }: { stopDistance: number; distance: number; sampleAperture: number },
): StopProjection {
  const nominalRadius = (stopRadius * distance) / stopDistance;
  const penumbra = ((sampleAperture / 2) * (distance - stopDistance)) / stopDistance;
  return { nominalRadius, umbraRadius: nominalRadius - penumbra, outerRadius: nominalRadius + penumbra };
}

/**
 * Part of a uniform round beam of radius r that passes beside a round stop of radius R whose centre is e away: 1 minus the
 * lens where the discs overlap over the beam's area. All in the same unit.
 */
export function leakedFraction(stopRadius: number, beamRadius: number, offset: number): number {
  const [big, small, e] = [stopRadius, beamRadius, Math.abs(offset)];
  if (e + small <= big) return 0;
  if (e >= big + small) return 1;
  if (e + big <= small) return 1 - (big * big) / (small * small);
  const alongSmall = (e * e + small * small - big * big) / (2 * e * small);
  const alongBig = (e * e + big * big - small * small) / (2 * e * big);
  const kite = Math.sqrt((-e + small + big) * (e + small - big) * (e - small + big) * (e + small + big)) / 2;
  const lens = small * small * arcCosine(alongSmall) + big * big * arcCosine(alongBig) - kite;
  return 1 - lens / (Math.PI * small * small);
}

/** By atan2, which keeps its digits near 1 where acos loses half of them. */
function arcCosine(c: number): number {
  return atan2(Math.sqrt(Math.max(0, (1 - c) * (1 + c))), c);
}

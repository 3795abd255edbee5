const TURN = 2 * Math.PI;
/** Azimuths closer than this to a sector's edge, rad, are on it, and the edge belongs to the sector. */
const EDGE_SLACK = 1e-12;

/** A sector of azimuth, rad: |phi - centre| <= halfWidth the short way round; mirrored: the opposite one as well. */
export interface Sector {
  readonly centre: number;
  readonly halfWidth: number;
  readonly mirrored: boolean;
}

/**
 * A sector as one closed interval of azimuths in [0, period): from `low` to `high`, or, where `low` > `high`, from `low`
 * up through the period's end to `high`. The period is a turn, or half a turn for mirrored sectors (`foldedAngle`).
 */
export interface AngleInterval {
  readonly low: number;
  readonly high: number;
}

/** @throws RangeError where the half-width isn't > 0 */
export function sectorInterval({ centre, halfWidth, mirrored }: Sector): AngleInterval {
  if (!(halfWidth > 0 && Number.isFinite(centre)))
    throw new RangeError(`a sector around ${centre} with half-width ${halfWidth} rad`);
  const period = mirrored ? Math.PI : TURN;
  const reach = halfWidth + EDGE_SLACK;
  if (2 * reach >= period) return { low: 0, high: period };
  return { low: wrapped(centre - reach, period), high: wrapped(centre + reach, period) };
}

export function isInside({ low, high }: AngleInterval, angle: number): boolean {
  return low <= high ? angle >= low && angle <= high : angle >= low || angle <= high;
}

/** Brings an azimuth of [0, 2 pi) into [0, pi), where a direction and its opposite are one. */
export function foldedAngle(phi: number): number {
  return phi >= Math.PI ? phi - Math.PI : phi;
}

/** `angle` modulo `period`, from 0 up to but not including the period. */
export function wrapped(angle: number, period: number): number {
  const rest = angle - period * Math.floor(angle / period);
  return rest < period && rest >= 0 ? rest : 0;
}

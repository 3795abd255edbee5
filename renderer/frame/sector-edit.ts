import type { AnnulusShape, SectorShape } from "../view-types.ts";

const LEAST_HALF_WIDTH_DEG = 0.5;
/** An annulus stays at least this much wider outside than inside. */
const LEAST_RATIO = 1.005;

/** 0 <= degrees < 360. */
export function normalDegrees(degrees: number): number {
  const rest = degrees % 360;
  return rest < 0 ? rest + 360 : rest + 0;
}

/** Shortest way from one direction to another, -180 < degrees <= 180. */
export function degreesBetween(from: number, to: number): number {
  const way = normalDegrees(to - from);
  return way > 180 ? way - 360 : way;
}

export function rotated(sector: SectorShape, centre_deg: number): SectorShape {
  return { ...sector, centre_deg: normalDegrees(tenths(centre_deg)) };
}

/** The sector with an edge at phi; of a mirrored one, either of the two wedges' edges. */
export function widened(sector: SectorShape, phi_deg: number): SectorShape {
  const way = Math.abs(degreesBetween(sector.centre_deg, phi_deg));
  const half = sector.mirrored && way > 90 ? 180 - way : way;
  const most = sector.mirrored ? 90 : 180;
  return { ...sector, halfWidth_deg: Math.min(most, Math.max(LEAST_HALF_WIDTH_DEG, tenths(half))) };
}

export function withInner(annulus: AnnulusShape, q: number): AnnulusShape {
  return { ...annulus, qMin: digits(Math.min(Math.max(0, q), annulus.qMax / LEAST_RATIO)) };
}

export function withOuter(annulus: AnnulusShape, q: number): AnnulusShape {
  return { ...annulus, qMax: digits(Math.max(q, annulus.qMin * LEAST_RATIO)) };
}

function tenths(degrees: number): number {
  return Math.round(degrees * 10) / 10 + 0;
}

function digits(q: number): number {
  return Number(q.toPrecision(4));
}

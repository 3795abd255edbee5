import { averageFrame } from "../averaging/average-frame.ts";
import type { BinChoice } from "../averaging/bins.ts";
import type { QResolution } from "../geometry/resolution.ts";
import type { Curve, IntensityUnit } from "../model/curve.ts";
import { type Result, success } from "../model/result.ts";
import type { AnisotropyGround } from "./ground.ts";
import { sectorDilution, sineSquaredFromSectors } from "./sine-squared.ts";

export interface AlongAcrossChoice {
  /** Direction of the axis, rad. */
  readonly axis: number;
  /** Of each sector, rad; both sides of the beam count. */
  readonly halfWidth: number;
  readonly bins?: BinChoice | undefined;
}

/** Columns at the Q where both sectors have points. */
export interface SectorComparison {
  readonly q: Float64Array;
  /** Along over across. */
  readonly ratio: Float64Array;
  readonly ratioSigma: Float64Array;
  /** A and B of I = A + B sin^2(phi - axis), with the sectors' dilution taken out. */
  readonly a: Float64Array;
  readonly aSigma: Float64Array;
  readonly b: Float64Array;
  readonly bSigma: Float64Array;
}

export interface AlongAcross {
  readonly along: Curve;
  readonly across: Curve;
  readonly comparison: SectorComparison;
}

/** Curves in a sector along the axis and in one across it, and what they say bin by bin. Pixels of the two differ. */
export function alongAndAcross(
  { estimate, geometry, maps }: AnisotropyGround,
  { axis, halfWidth, bins }: AlongAcrossChoice,
  { unit, resolution }: { readonly unit: IntensityUnit; readonly resolution?: QResolution | undefined },
): Result<AlongAcross> {
  const sector = (id: string, centre: number) =>
    averageFrame({ id, kind: "sector", centre, halfWidth, mirrored: true, bins }, estimate, {
      geometry,
      maps,
      unit,
      resolution,
    }) as Result<Curve>;
  const along = sector("along", axis);
  if (!along.ok) return along;
  const across = sector("across", axis + Math.PI / 2);
  if (!across.ok) return across;
  return success({
    along: along.value,
    across: across.value,
    comparison: compareSectors(along.value, across.value, halfWidth),
  });
}

function compareSectors(along: Curve, across: Curve, halfWidth: number): SectorComparison {
  const pairs: [number, number][] = [];
  for (let i = 0, j = 0; i < along.bin.length && j < across.bin.length; ) {
    if (along.bin[i] === across.bin[j]) pairs.push([i++, j++]);
    else if (along.bin[i]! < across.bin[j]!) i++;
    else j++;
  }
  const column = (value: (i: number, j: number) => number) => Float64Array.from(pairs, ([i, j]) => value(i, j));
  const laws = pairs.map(([i, j]) =>
    sineSquaredFromSectors(
      { value: along.intensity[i]!, sigma: along.sigma[i]! },
      { value: across.intensity[j]!, sigma: across.sigma[j]! },
      halfWidth,
    ),
  );
  return {
    q: column((i, j) => (along.q[i]! + across.q[j]!) / 2),
    ratio: column((i, j) => along.intensity[i]! / across.intensity[j]!),
    ratioSigma: column((i, j) => {
      const ratio = along.intensity[i]! / across.intensity[j]!;
      const [s, t] = [along.sigma[i]! / across.intensity[j]!, (ratio * across.sigma[j]!) / across.intensity[j]!];
      return Math.sqrt(s * s + t * t);
    }),
    a: Float64Array.from(laws, ({ a }) => a.value),
    aSigma: Float64Array.from(laws, ({ a }) => a.sigma),
    b: Float64Array.from(laws, ({ b }) => b.value),
    bSigma: Float64Array.from(laws, ({ b }) => b.sigma),
  };
}

/** What a sector of this half-width costs and gains, from the counts that the frame really has in it. */
export interface SectorCost {
  /** rad */
  readonly halfWidth: number;
  /** Counts in both sectors over counts at all azimuths: what the curves along and across are made of. */
  readonly countsShare: number;
  /** Part of the true difference between along and across that the sector means still show. */
  readonly dilution: number;
  /** Relative sigma of a weak difference between along and across, as a multiple of the least any width has. */
  readonly relativeSigma: number;
}

/**
 * Costs of sector widths: a narrow sector has few counts, a wide one blurs the difference that it should show. For a
 * pattern of order 2 on a full ring the sigma of the difference goes as sqrt(D)/sin(D) with the full width D, least at
 * tan D = 2 D: 66.8 deg.
 *
 * @param halfWidths rad, each in 0..pi/4, beyond which the sectors would overlap
 */
export function sectorCosts(
  { estimate, maps }: AnisotropyGround,
  { axis, qMin, qMax }: { readonly axis: number; readonly qMin: number; readonly qMax: number },
  halfWidths: readonly number[],
): SectorCost[] {
  // Counts by angle from the axis, folded to 0..pi/4 of the nearer of along and across.
  const cells = 900;
  const folded = new Float64Array(cells);
  const counts = estimate.terms[0]?.counts;
  let total = 0;
  for (let p = 0; p < estimate.mask.length; p++) {
    const q = maps.q[p]!;
    if (estimate.mask[p] !== 0 || !(q >= qMin && q < qMax)) continue;
    const quarter = Math.PI / 2;
    const angle = maps.phi[p]! - axis - quarter * Math.floor((maps.phi[p]! - axis) / quarter);
    const off = Math.min(angle, quarter - angle);
    folded[Math.min(cells - 1, Math.floor((off / (Math.PI / 4)) * cells))]! += counts?.[p] ?? 0;
    total += counts?.[p] ?? 0;
  }
  const inside = (halfWidth: number) => {
    const last = Math.round((halfWidth / (Math.PI / 4)) * cells);
    let sum = 0;
    for (let k = 0; k < Math.min(cells, last); k++) sum += folded[k]!;
    return sum / total;
  };
  const relative = (halfWidth: number) => 1 / (Math.sqrt(inside(halfWidth)) * sectorDilution(halfWidth));
  let least = Number.POSITIVE_INFINITY;
  for (let degrees = 1; degrees <= 45; degrees++) {
    const value = relative((degrees * Math.PI) / 180);
    if (value < least) least = value;
  }
  return halfWidths.map((halfWidth) => ({
    halfWidth,
    countsShare: inside(halfWidth),
    dilution: sectorDilution(halfWidth),
    relativeSigma: relative(halfWidth) / least,
  }));
}

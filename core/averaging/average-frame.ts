import { waveNumber } from "../geometry/constants.ts";
import { azimuthMap, qMap, qxMap, qyMap } from "../geometry/maps.ts";
import type { QResolution } from "../geometry/resolution.ts";
import type { Curve, IntensityUnit, Profile } from "../model/curve.ts";
import type { Estimate } from "../model/estimate.ts";
import type { Geometry } from "../model/geometry.ts";
import { failure, type Result, success } from "../model/result.ts";
import { sin } from "../model/steady-math.ts";
import { averageEstimate } from "./average.ts";
import { type BinChoice, binEdges, DEFAULT_BINS, pixelRange } from "./bins.ts";
import { annulusMembership, type BinMap, boxMembership, radialMembership, sectorMembership } from "./membership.ts";
import { wrapped } from "./sector.ts";

/** An average as core knows it: Q in 1/angstrom, angles in rad. */
export type AverageChoice =
  | { readonly id: string; readonly kind: "radial"; readonly bins?: BinChoice | undefined }
  | {
      readonly id: string;
      readonly kind: "sector";
      readonly centre: number;
      readonly halfWidth: number;
      readonly mirrored: boolean;
      readonly bins?: BinChoice | undefined;
    }
  | {
      readonly id: string;
      readonly kind: "annulus";
      readonly qMin: number;
      readonly qMax: number;
      readonly count?: number | undefined;
      /** Lower edge of the first bin; left out: the first bin is centred on +x. */
      readonly start?: number | undefined;
    }
  | {
      readonly id: string;
      readonly kind: "box";
      readonly axis: "x" | "y";
      readonly halfWidth: number;
      readonly bins?: BinChoice | undefined;
    };

/** A bank's maps, made once a geometry: Q in 1/angstrom, phi in rad. */
export interface QMaps {
  readonly q: Float64Array;
  readonly phi: Float64Array;
}

export const DEFAULT_ANNULUS_COUNT = 72;

export function qMaps(geometry: Geometry): QMaps {
  return { q: qMap(geometry), phi: azimuthMap(geometry) };
}

/** What an average sees of a frame. */
export interface AverageGround {
  readonly geometry: Geometry;
  readonly maps: QMaps;
  /** Only unmasked pixels set the default limits of the bins. */
  readonly mask: Uint16Array;
  /** Where the choice stands in the plan, for messages: "averages[0]". */
  readonly field?: string;
}

/** The bins of `choice` and the quantity that is binned, one entry a pixel. */
export function averageMembership(
  choice: AverageChoice,
  ground: AverageGround,
): Result<{ readonly binMap: BinMap; readonly q: Float64Array }> {
  const { geometry, maps, mask, field = "average" } = ground;
  if (choice.kind === "annulus") {
    const { qMin, qMax, count = DEFAULT_ANNULUS_COUNT, start } = choice;
    if (!(qMin >= 0 && qMax > qMin && Number.isFinite(qMax)))
      return failure("out-of-range", `an annulus needs 0 <= qMin < qMax; found ${qMin} and ${qMax} 1/A`, {
        field: `${field}.qMax`,
      });
    if (!(Number.isInteger(count) && count >= 1 && count <= 3600))
      return failure("out-of-range", `count must be a whole number from 1 to 3600, not ${count}`, {
        field: `${field}.count`,
      });
    return success({ binMap: annulusMembership(geometry, { qMin, qMax, count, start }, maps), q: maps.q });
  }
  if (choice.kind === "box") return boxBins(choice, ground);

  const edges = binEdges(
    choice.bins ?? DEFAULT_BINS,
    pixelRange(maps.q, mask, qStepOfPixel(geometry)),
    `${field}.bins`,
  );
  if (!edges.ok) return edges;
  if (edges.value[0]! < 0)
    return failure("out-of-range", `Q is never below 0; the first edge is ${edges.value[0]} 1/A`, {
      field: `${field}.bins`,
    });
  const radial = radialMembership(geometry, edges.value, maps.q);
  if (choice.kind === "radial") return success({ binMap: radial, q: maps.q });
  if (!(choice.halfWidth > 0 && Number.isFinite(choice.halfWidth) && Number.isFinite(choice.centre)))
    return failure("out-of-range", "a sector needs a direction and a half-width > 0", {
      field: `${field}.halfWidth_deg`,
    });
  return success({ binMap: sectorMembership(radial, maps.phi, choice), q: maps.q });
}

/**
 * Averages an estimate as `choice` says.
 * @returns a curve, or a profile for an annulus; a fault for bins that can't be made or hold no pixel
 */
export function averageFrame(
  choice: AverageChoice,
  estimate: Estimate,
  {
    unit,
    resolution,
    ...ground
  }: Omit<AverageGround, "mask"> & { readonly unit: IntensityUnit; readonly resolution?: QResolution | undefined },
): Result<Curve | Profile> {
  const membership = averageMembership(choice, { ...ground, mask: estimate.mask });
  if (!membership.ok) return membership;
  const { binMap, q } = membership.value;
  const { id, kind } = choice;
  if (kind === "annulus") {
    const columns = averageEstimate(estimate, binMap);
    if (columns.bin.length === 0) return nothingThere(choice, ground.field);
    const phi = Float64Array.from(columns.bin, (b) =>
      wrapped((binMap.edges[b]! + binMap.edges[b + 1]!) / 2, 2 * Math.PI),
    );
    return success({ ...columns, kind, id, unit, phi, qMin: choice.qMin, qMax: choice.qMax });
  }
  const moreQVariance = verticalBlur(choice, ground.maps, resolution);
  const columns = averageEstimate(estimate, binMap, { q, ...(resolution && { resolution, moreQVariance }) });
  if (columns.bin.length === 0) return nothingThere(choice, ground.field);
  return success({ ...columns, kind, id, unit });
}

/** A blur along the vertical widens Q by how far the direction of Q is vertical; a box has one direction. */
function verticalBlur(
  choice: AverageChoice,
  { phi }: QMaps,
  resolution: QResolution | undefined,
): Float64Array | undefined {
  const vertical = resolution?.verticalVariance;
  if (vertical === undefined) return undefined;
  if (choice.kind === "box") return phi.map(() => (choice.axis === "y" ? vertical : 0));
  return phi.map((at) => {
    const s = sin(at);
    return vertical * s * s;
  });
}

function boxBins(
  { axis, halfWidth, bins = { spacing: "linear" } }: Extract<AverageChoice, { kind: "box" }>,
  { geometry, mask, field = "average" }: AverageGround,
): Result<{ readonly binMap: BinMap; readonly q: Float64Array }> {
  if (!(halfWidth > 0 && Number.isFinite(halfWidth)))
    return failure("out-of-range", `a box needs a half-width > 0 1/A, not ${halfWidth}`, {
      field: `${field}.halfWidth_1A`,
    });
  const [qx, qy] = [qxMap(geometry), qyMap(geometry)];
  const [along, across] = axis === "x" ? [qx, qy] : [qy, qx];
  const inStrip = mask.map((bits, p) => (bits === 0 && Math.abs(across[p]!) <= halfWidth ? 0 : 1));
  const edges = binEdges(bins, pixelRange(along, inStrip, qStepOfPixel(geometry)), `${field}.bins`);
  if (!edges.ok) return edges;
  return success({ binMap: boxMembership({ along, across }, halfWidth, edges.value), q: along });
}

/** Step in Q from one pixel to the next near the beam, 1/angstrom. */
function qStepOfPixel({ wavelength, distance, pixelSizeX, pixelSizeY }: Geometry): number {
  return (waveNumber(wavelength) * Math.min(pixelSizeX, pixelSizeY)) / distance;
}

function nothingThere({ id }: AverageChoice, field = "average") {
  return failure("out-of-range", `no unmasked pixel lies in the bins of "${id}"; widen them or mask less`, { field });
}

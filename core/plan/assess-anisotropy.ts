import { type AlongAcross, alongAndAcross, type SectorCost, sectorCosts } from "../anisotropy/along-across.ts";
import { type AnisotropyReport, anisotropyInParts, middleAnnulus, toTheEnd } from "../anisotropy/analyse.ts";
import { PROOF } from "../anisotropy/proof.ts";
import type { BinChoice } from "../averaging/bins.ts";
import type { Reduction } from "./reduction.ts";

const DEGREE = Math.PI / 180;
const SECTOR_BINS: BinChoice = { spacing: "log", count: 40 };
/** Half-widths whose costs are told, degrees: from narrow to where the two sectors meet. */
const COSTED_WIDTHS = [5, 10, 15, 20, 30, 45] as const;
export const DEFAULT_SECTOR_HALF_WIDTH_DEG = 15;
/** Sectors along and across that are wider than this overlap. */
export const MAX_SECTOR_HALF_WIDTH_DEG = 45;

export interface AnisotropyOptions {
  /** Direction of the magnetic field, where it is known. */
  readonly field_deg?: number | undefined;
  /** Half-width of the sectors along and across the axis. */
  readonly sectorHalfWidth_deg?: number | undefined;
}

/** The answer to "is the scattering anisotropic?" for one reduction. */
export interface AnisotropyAssessment {
  readonly report: AnisotropyReport;
  /** The plan has no annulus: the report's is the middle third of the Q range. */
  readonly isDefaultAnnulus: boolean;
  /** Curves along and across the axis of the first annulus, or the field; undefined: there is no axis. */
  readonly sectors: Sectors | undefined;
}

export interface Sectors extends AlongAcross {
  /** rad */
  readonly axis: number;
  readonly axisFrom: "annulus" | "field";
  readonly halfWidth: number;
  /** Of this half-width. */
  readonly cost: SectorCost;
  /** Of other half-widths. */
  readonly costs: readonly SectorCost[];
}

/** Measures in the annuli of the plan, the spectrum, the centre, and the curves along and across. */
export function assessAnisotropy(reduction: Reduction, options: AnisotropyOptions = {}): AnisotropyAssessment {
  return toTheEnd(assessAnisotropyInParts(reduction, options));
}

/** The same in parts, so that who has other things to do can do them in between. */
export function* assessAnisotropyInParts(
  reduction: Reduction,
  options: AnisotropyOptions = {},
): Generator<undefined, AnisotropyAssessment> {
  const own = reduction.profiles.map(({ id, qMin, qMax }) => ({ id, qMin, qMax }));
  const middle = middleAnnulus(reduction);
  const annuli = own.length > 0 ? own : middle === undefined ? [] : [middle];
  const field = options.field_deg === undefined ? undefined : options.field_deg * DEGREE;
  const report = yield* anisotropyInParts(reduction, { annuli, field });
  return { report, isDefaultAnnulus: own.length === 0, sectors: sectorsOf(reduction, report, options) };
}

/** The same report with sectors of another width: nothing of the report depends on that. */
export function withSectors(
  assessment: AnisotropyAssessment,
  reduction: Reduction,
  options: AnisotropyOptions,
): AnisotropyAssessment {
  return { ...assessment, sectors: sectorsOf(reduction, assessment.report, options) };
}

function sectorsOf(
  reduction: Reduction,
  report: AnisotropyReport,
  { field_deg, sectorHalfWidth_deg = DEFAULT_SECTOR_HALF_WIDTH_DEG }: AnisotropyOptions,
): Sectors | undefined {
  const [annulus] = report.annuli;
  const measures = annulus?.measures;
  const measured = measures !== undefined && measures.pIsotropic < PROOF ? measures.axis : undefined;
  const axis = field_deg === undefined ? measured : field_deg * DEGREE;
  if (annulus === undefined || axis === undefined) return undefined;
  const halfWidth = sectorHalfWidth_deg * DEGREE;
  const { resolution, unit } = reduction;
  const curves = alongAndAcross(reduction, { axis, halfWidth, bins: SECTOR_BINS }, { unit, resolution });
  // Sectors that hold no unmasked pixel are no fault of the person's: there is nothing to compare.
  if (!curves.ok) return undefined;
  const { qMin, qMax } = annulus;
  const [cost, ...costs] = sectorCosts(reduction, { axis, qMin, qMax }, [
    halfWidth,
    ...COSTED_WIDTHS.map((degrees) => degrees * DEGREE),
  ]);
  return {
    ...curves.value,
    axis,
    axisFrom: field_deg === undefined ? "annulus" : "field",
    halfWidth,
    cost: cost!,
    costs,
  };
}

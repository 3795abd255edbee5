import type { Curve, Profile } from "../model/curve.ts";
import { countMasked } from "../model/mask.ts";
import type { MetadataField, RunMetadata } from "../model/metadata.ts";
import { METADATA_FIELDS } from "../model/metadata.ts";
import { azimuthDegrees, orNull } from "../model/numbers.ts";
import { planHash } from "../plan/canonical-json.ts";
import type { Measured, Reduction, StopOutline } from "../plan/reduction.ts";
import { hasResolution, isProfile } from "./average-table.ts";
import { stepsNotApplied } from "./ledger-words.ts";
import { commonSummary, pointUncertainties } from "./uncertainty-summary.ts";

/**
 * The numbers of a reduction for `summary.json`: keys carry their unit, each value has its standard deviation beside it
 * (`sigma`, or the same key with `_sigma`), and null stands for what isn't known.
 */
export function reductionSummary(reduction: Reduction): Readonly<Record<string, unknown>> {
  const { ledger, geometry, beamCentre, transmission, estimate, maps } = reduction;
  const masked = countMasked(maps.mask);
  return {
    program: ledger.program,
    title: reduction.title,
    sample: reduction.sampleFile,
    planSha256: planHash(ledger.plan),
    beamCentre_px: {
      value: [orNull(beamCentre.x), orNull(beamCentre.y)],
      sigma: [orNull(beamCentre.xSigma), orNull(beamCentre.ySigma)],
      method: beamCentre.method,
      from: beamCentre.from,
    },
    beamStop: reduction.beamStop === undefined ? null : stopSummary(reduction.beamStop),
    transmission: { sample: measured(transmission.sample), emptyCell: measured(transmission.emptyCell) },
    intensityUnit: reduction.unit,
    qRange_1A: usedRange(maps.q, maps.mask),
    commonUncertainty: commonSummary(estimate),
    averages: [...reduction.curves, ...reduction.profiles].map((average) => ({
      ...averageSummary(average),
      ...pointUncertainties(average, estimate),
    })),
    pixels: {
      total: maps.mask.length,
      masked: masked.total,
      maskedByReason: masked.byReason,
      width: geometry.width,
      height: geometry.height,
    },
    metadata: metadataSummary(reduction.metadata),
    notApplied: stepsNotApplied(ledger.steps).map(({ step, reason }) => ({ step, reason: reason ?? null })),
    notes: outputNotes(reduction),
    warnings: reduction.warnings,
  };
}

/** What the files leave out because it isn't known or isn't there. */
export function outputNotes({ curves, profiles }: Reduction): readonly string[] {
  const notes: string[] = [];
  const listed = (averages: readonly (Curve | Profile)[]) => averages.map((average) => average.id).join(", ");
  const unresolved = curves.filter((curve) => curve.q.length > 0 && !hasResolution(curve));
  if (unresolved.length > 0) {
    notes.push(
      `resolution dQ not known for ${listed(unresolved)}: cells are empty in the CSV, and the other files leave it out`,
    );
  }
  const empty = [...curves, ...profiles].filter((average) => average.intensity.length === 0);
  if (empty.length > 0) notes.push(`no point in ${listed(empty)}: no XML, HDF5 or figure`);
  return notes;
}

function measured(quantity: Measured | undefined): { value: number | null; sigma: number | null } | null {
  return quantity === undefined ? null : { value: orNull(quantity.value), sigma: orNull(quantity.sigma) };
}

function stopSummary(stop: StopOutline): Readonly<Record<string, unknown>> {
  const place = {
    shape: stop.shape,
    x_px: orNull(stop.x),
    y_px: orNull(stop.y),
    x_px_sigma: orNull(stop.xSigma),
    y_px_sigma: orNull(stop.ySigma),
  };
  if (stop.shape === "circle") {
    return { ...place, radius_px: orNull(stop.radius), radius_px_sigma: orNull(stop.radiusSigma) };
  }
  const degrees = (angle: number | undefined) => orNull(angle === undefined ? undefined : (angle * 180) / Math.PI);
  return {
    ...place,
    width_px: orNull(stop.width),
    height_px: orNull(stop.height),
    turn_deg: degrees(stop.turn),
    width_px_sigma: orNull(stop.widthSigma),
    height_px_sigma: orNull(stop.heightSigma),
    turn_deg_sigma: degrees(stop.turnSigma),
  };
}

function averageSummary(average: Curve | Profile): Readonly<Record<string, unknown>> {
  const points = average.intensity.length;
  const shared = {
    id: average.id,
    kind: average.kind,
    points,
    unit: average.unit,
    pixels: sum(average.pixels),
    counts: sum(average.counts),
    binsWithoutCounts: sum(average.zeroCounts),
  };
  if (isProfile(average)) {
    const ends = { phiMin_deg: null, phiMax_deg: null };
    if (points > 0) {
      const phi = average.phi.map(azimuthDegrees);
      Object.assign(ends, { phiMin_deg: phi[0], phiMax_deg: phi[points - 1] });
    }
    return { ...shared, qMin_1A: orNull(average.qMin), qMax_1A: orNull(average.qMax), ...ends };
  }
  return {
    ...shared,
    qMin_1A: orNull(average.q[0]),
    qMax_1A: orNull(average.q[points - 1]),
    qMin_1A_sigma: orNull(average.qSigma?.[0]),
    qMax_1A_sigma: orNull(average.qSigma?.[points - 1]),
    resolution: hasResolution(average),
  };
}

function sum(values: Float64Array | Uint8Array): number {
  let total = 0;
  for (let i = 0; i < values.length; i++) total += values[i]!;
  return total;
}

/** Lowest and highest Q of the pixels that are used; null where there are none. */
function usedRange(q: Float64Array, mask: Uint16Array): readonly [number, number] | null {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let p = 0; p < q.length; p++) {
    if (mask[p] !== 0 || !Number.isFinite(q[p]!)) continue;
    if (q[p]! < low) low = q[p]!;
    if (q[p]! > high) high = q[p]!;
  }
  return low <= high ? [low, high] : null;
}

/** The numbers that the reduction used, by the plan's keys and in its units, with where each came from. */
function metadataSummary(metadata: RunMetadata): Readonly<Record<string, unknown>> {
  return Object.fromEntries(METADATA_FIELDS.map((field) => [field.fileKey, fileValue(metadata, field)]));
}

function fileValue(metadata: RunMetadata, { key, scale }: MetadataField): unknown {
  const found = metadata[key];
  if (found === undefined) return null;
  const inFileUnit = (value: number) => orNull(value / scale);
  const { value } = found;
  return {
    value: typeof value === "number" ? inFileUnit(value) : value.map(inFileUnit),
    sigma: null,
    from: found.from,
    guessed: found.guessed ?? false,
  };
}

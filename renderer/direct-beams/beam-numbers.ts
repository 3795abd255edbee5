import type { LedgerEntry } from "../../core/model/ledger.ts";
import type { Measured } from "../../core/model/measured.ts";
import { BEAM_ROLES, type BeamRole } from "../worker/direct-beam-view.ts";

/** What was summed of one direct-beam run. */
export interface BeamCountsShown {
  /** After dead time, blocked beam and flood. */
  readonly net: number;
  readonly pixels: number;
  /** Monitor counts, or seconds. */
  readonly normalisation: number;
  readonly attenuation: number;
}

export interface BeamCircleShown {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
}

export interface ShownTransmission extends Measured {
  /** Where it came from, as the ledger says it. */
  readonly from: string;
  readonly isMeasured: boolean;
}

/** The direct beams' part in a reduction. What it does not hold was not made. */
export interface BeamNumbers {
  readonly circle?: BeamCircleShown;
  readonly normalisedBy?: string;
  readonly beams: { readonly [role in BeamRole]?: BeamCountsShown };
  readonly sample?: ShownTransmission;
  readonly emptyCell?: ShownTransmission;
  /** Counts of the empty beam per unit of normalisation, and the radius of its sum. */
  readonly scale?: Measured & { readonly radius?: number };
  readonly warnings: readonly string[];
}

type Parameters = LedgerEntry["parameters"];

/** The numbers of the ledger. What differs for the empty cell stands there under its role. */
export function beamNumbers(steps: readonly LedgerEntry[]): BeamNumbers {
  const transmission = steps.find(({ step }) => step === "transmission");
  const absolute = steps.find(({ step, status }) => step === "absolute" && status === "applied");
  const own = transmission?.parameters ?? {};
  const cell = unprefixed(own, "emptyCell.");
  const scale = absolute?.parameters ?? {};
  const beams: { [role in BeamRole]?: BeamCountsShown } = {};
  for (const role of BEAM_ROLES) {
    const counts = countsOf(own, role) ?? countsOf(cell, role) ?? countsOf(scale, role);
    if (counts !== undefined) beams[role] = counts;
  }
  const circle = circleOf(own) ?? circleOf(cell) ?? circleOf(scale);
  const by = own["normalisedBy"] ?? cell["normalisedBy"];
  const sample = transmissionOf(own, transmission?.sources["transmission"], beams.sampleTransmission !== undefined);
  const emptyCell = transmissionOf(
    { ...(transmission?.status === "applied" && own), ...cell },
    transmission?.sources["emptyCell.transmission"] ?? transmission?.sources["transmission"],
    beams.emptyCellTransmission !== undefined,
  );
  const directBeam = numberAt(scale, "directBeam");
  const radius = numberAt(scale, "radius_px");
  return {
    beams,
    ...(circle && { circle }),
    ...(typeof by === "string" && { normalisedBy: by }),
    ...(sample && { sample }),
    ...(emptyCell && { emptyCell }),
    ...(directBeam !== undefined && {
      scale: { ...measured(directBeam, numberAt(scale, "directBeam_sigma")), ...(radius !== undefined && { radius }) },
    }),
    warnings: [...new Set([...(transmission?.warnings ?? []), ...(absolute?.warnings ?? [])])],
  };
}

function unprefixed(parameters: Parameters, prefix: string): Parameters {
  return Object.fromEntries(
    Object.entries(parameters).flatMap(([key, value]) =>
      key.startsWith(prefix) ? [[key.slice(prefix.length), value]] : [],
    ),
  );
}

function countsOf(parameters: Parameters, role: BeamRole): BeamCountsShown | undefined {
  const net = numberAt(parameters, `${role}.netCounts`);
  const pixels = numberAt(parameters, `${role}.pixels`);
  const normalisation = numberAt(parameters, `${role}.normalisation`);
  const attenuation = numberAt(parameters, `${role}.attenuation`);
  if (net === undefined || pixels === undefined || normalisation === undefined || attenuation === undefined)
    return undefined;
  return { net, pixels, normalisation, attenuation };
}

function circleOf(parameters: Parameters): BeamCircleShown | undefined {
  const radius = numberAt(parameters, "radius_px");
  const centre = parameters["centre_px"];
  const [x, y] = Array.isArray(centre) ? centre : [];
  return radius === undefined || typeof x !== "number" || typeof y !== "number" ? undefined : { x, y, radius };
}

function transmissionOf(
  parameters: Parameters,
  from: string | undefined,
  isMeasured: boolean,
): ShownTransmission | undefined {
  const value = numberAt(parameters, "transmission");
  if (value === undefined) return undefined;
  return { ...measured(value, numberAt(parameters, "transmission_sigma")), from: from ?? "not known", isMeasured };
}

function measured(value: number, sigma: number | undefined): Measured {
  return { value, ...(sigma !== undefined && { sigma }) };
}

function numberAt(parameters: Parameters, key: string): number | undefined {
  const value = parameters[key];
  return typeof value === "number" && Number.isFinite(value) ? value : undefined;
}

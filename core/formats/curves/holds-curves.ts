import type { ByteSource, ReadContext } from "../reader.ts";
import { COLUMNS_BY_ORDER, COLUMNS_PATH, PROFILE_COLUMN } from "./columns-reader.ts";
import type { LoadedCurve } from "./loaded-curve.ts";
import { openCurves } from "./open-curves.ts";

/** Columns beyond Q, I and their deviations that a curve may have; a frame as text has as many as it is wide. */
const MOST_EXTRA_COLUMNS = 4;
const LEAST_POINTS = 3;

/**
 * Whether a file is one of finished curves rather than of frames. canSAS XML and NXcanSAS say so themselves; columns of
 * text are a curve where names above them say so, or where there are few of them and the first rises like Q.
 */
export async function holdsCurves(
  source: ByteSource,
  context: Pick<ReadContext, "signal" | "openHdf5">,
): Promise<boolean> {
  const curves = await openCurves(source, context);
  // A profile over the azimuth is no frame either: whoever loads its curves says so.
  if (!curves.ok) return curves.fault.field === PROFILE_COLUMN;
  return curves.value.every((curve) => curve.path !== COLUMNS_PATH || isCurveInColumns(curve));
}

function isCurveInColumns({ q, qUnit, extra, notes }: LoadedCurve): boolean {
  if (q.length < LEAST_POINTS || Object.keys(extra).length > MOST_EXTRA_COLUMNS) return false;
  if (!notes.includes(COLUMNS_BY_ORDER)) return true;
  const rises = q.every((value, i) => value > 0 && (i === 0 || value > q[i - 1]!));
  // Whole numbers that rise count something: rows, channels.
  return qUnit !== "unknown" && rises && q.some((value) => !Number.isInteger(value));
}

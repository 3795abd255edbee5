import type { CurvePoints } from "../../../core/curves/curve-points.ts";
import { intensityUnitOf, pointsFromFile } from "../../../core/curves/from-file.ts";
import { openCurves } from "../../../core/formats/curves/open-curves.ts";
import type { LedgerInput } from "../../../core/model/ledger.ts";
import { failure, type Result, success } from "../../../core/model/result.ts";
import { FileDigests } from "../../services/file-digest.ts";
import { hasErrorCode, ioFault } from "../../services/io-fault.ts";
import { openHdf5 } from "../../services/open-hdf5.ts";
import { pathSource } from "../../services/path-source.ts";
import type { CommandValues } from "../command.ts";

/** A curve that the command line names. */
export interface NamedCurve {
  readonly file: string;
  readonly title: string;
  readonly points: CurvePoints;
  readonly unit: string;
  readonly input: LedgerInput;
  /** What is odd about the file. */
  readonly notes: readonly string[];
}

/** Reads a curve of any format; of several in a file the first. */
export async function readCurve(file: string, signal: AbortSignal): Promise<Result<NamedCurve>> {
  try {
    const loaded = await openCurves(await pathSource(file), { signal, openHdf5 });
    if (!loaded.ok) return { ok: false, fault: { ...loaded.fault, file } };
    const [first, ...others] = loaded.value;
    if (first === undefined) return failure("missing", `${file} holds no curve`, { file });
    const points = pointsFromFile({ ...first, file });
    if (!points.ok) return points;
    const { leftOut } = points.value;
    return success({
      file,
      title: first.title === "" ? first.name : first.title,
      points: points.value.points,
      unit: intensityUnitOf(first.unit),
      input: {
        role: "curve",
        file,
        sha256: await new FileDigests().of(file, signal),
        format: "curve",
        dataset: first.path,
      },
      notes: [
        ...first.notes,
        ...(others.length > 0 ? [`the file holds ${others.length + 1} curves: the first is used`] : []),
        ...(leftOut > 0 ? [`${leftOut} points without an uncertainty are left out`] : []),
      ].map((note) => `${file}: ${note}`),
    });
  } catch (error) {
    if (hasErrorCode(error)) return ioFault("read", file, error);
    throw error;
  }
}

/** A curve made of curves has uncertainties, so those need theirs. */
export function withUncertainties({
  file,
  points,
}: Pick<NamedCurve, "file" | "points">): Result<CurvePoints & { readonly sigma: Float64Array }> {
  const { sigma } = points;
  return sigma === undefined
    ? failure("missing", `${file} has no uncertainties: give a curve that has them`, { file })
    : success({ ...points, sigma });
}

/** Where a fit looks, from --q-min and --q-max: all of the curve without them. */
export function rangeOption({ values }: CommandValues): Result<{ readonly qMin: number; readonly qMax: number }> {
  const ends = { qMin: 0, qMax: Number.POSITIVE_INFINITY };
  for (const [name, key] of [
    ["q-min", "qMin"],
    ["q-max", "qMax"],
  ] as const) {
    const text = values.get(name);
    if (text === undefined) continue;
    const value = Number(text);
    if (!(value >= 0 && value < Number.POSITIVE_INFINITY))
      return failure("out-of-range", `--${name} must be a number >= 0 in 1/A; found "${text}"`, { field: `--${name}` });
    ends[key] = value;
  }
  return ends.qMin < ends.qMax
    ? success(ends)
    : failure("out-of-range", `--q-min ${ends.qMin} must be below --q-max ${ends.qMax}`, { field: "--q-max" });
}

export const RANGE_OPTIONS = {
  "q-min": { type: "string", placeholder: "Q", help: "lower end of the fit, 1/A" },
  "q-max": { type: "string", placeholder: "Q", help: "upper end of the fit, 1/A" },
} as const;

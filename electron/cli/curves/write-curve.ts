import { lstat } from "node:fs/promises";
import { extname } from "node:path";
import { failure, type Result, success } from "../../../core/model/result.ts";
import {
  CURVE_FORMATS,
  type CurveFormat,
  type DerivedCurve,
  derivedCurveFile,
} from "../../../core/report/derived-curve.ts";
import { writeFileAtomic } from "../../services/atomic-write.ts";
import { hasErrorCode, ioFault } from "../../services/io-fault.ts";
import { VERSION } from "../../services/version.ts";
import { writeHdf5 } from "../../services/write-hdf5.ts";

/** The format that a file name asks for, where a curve may be written there. Called before any work is done. */
export async function checkCurveFile(file: string, force: boolean): Promise<Result<CurveFormat>> {
  const field = "--out";
  const ending = extname(file).slice(1).toLowerCase();
  const format = CURVE_FORMATS.find((one) => one === ending);
  if (format === undefined)
    return failure(
      "unsupported",
      `--out ${file} must end with ${CURVE_FORMATS.map((one) => `.${one}`).join(", ")}: the ending chooses the format`,
      { field },
    );
  if (force) return success(format);
  try {
    await lstat(file);
  } catch (error) {
    if (hasErrorCode(error) && error.code === "ENOENT") return success(format);
    return ioFault("write", file, error);
  }
  return failure("inconsistent", `${file} is there already: name another file, or add --force to replace it`, {
    field,
  });
}

export async function writeCurve(file: string, format: CurveFormat, curve: DerivedCurve): Promise<Result<undefined>> {
  const bytes = await derivedCurveFile(curve, format, { writeHdf5, version: VERSION });
  try {
    await writeFileAtomic(file, bytes);
    return success(undefined);
  } catch (error) {
    return ioFault("write", file, error);
  }
}

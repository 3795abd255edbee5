import { lstat } from "node:fs/promises";
import { extname, resolve } from "node:path";
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
import type { CommandOption, CommandValues } from "../command.ts";

export const OUT_OPTIONS = {
  out: { type: "string", placeholder: "FILE", help: "csv, txt, xml (canSAS) or h5 (NXcanSAS), by its ending" },
  force: { type: "boolean", help: "replace a file that is there" },
} as const satisfies Readonly<Record<string, CommandOption>>;

/** Where --out points and in which format; called before any work is done. Undefined where it was not given. */
export async function outOption({
  values,
  flags,
}: CommandValues): Promise<Result<{ readonly out: string; readonly format: CurveFormat } | undefined>> {
  const given = values.get("out");
  if (given === undefined) return success(undefined);
  const out = resolve(given);
  const format = await checkCurveFile(out, flags.has("force"));
  return format.ok ? success({ out, format: format.value }) : format;
}

/** The same for a command that requires it. */
export async function requiredOut(
  given: CommandValues,
): Promise<Result<{ readonly out: string; readonly format: CurveFormat }>> {
  const found = await outOption(given);
  if (!found.ok) return found;
  if (found.value === undefined) throw new TypeError("a required option is not there");
  return success(found.value);
}

/** The format that a file name asks for, where a curve may be written there. */
async function checkCurveFile(file: string, force: boolean): Promise<Result<CurveFormat>> {
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

import { failure, type Result } from "../../model/result.ts";
import { bytesSource } from "../byte-source.ts";
import { gunzip } from "../containers/gzip-reader.ts";
import { openHdf5Checked } from "../hdf5/open-checked.ts";
import { PackedDataError } from "../inflate.ts";
import { expansionLimit, LIMITS } from "../limits.ts";
import { nexusReader } from "../nexus/nexus-reader.ts";
import { readSafely, unknownFormat } from "../open-run.ts";
import type { ByteSource, ReadContext } from "../reader.ts";
import { isPrintable, readTextFile } from "../text/decode-text-file.ts";
import { readCansasXml } from "./cansas-xml-reader.ts";
import { readColumns } from "./columns-reader.ts";
import type { LoadedCurve } from "./loaded-curve.ts";
import { readNxcansas } from "./nxcansas-reader.ts";

type CurveContext = Pick<ReadContext, "signal" | "openHdf5">;

/** Every curve of a file: canSAS1D XML, NXcanSAS, or columns in text; any of them in gzip. By content, not by name. */
export function openCurves(source: ByteSource, context: CurveContext): Promise<Result<readonly LoadedCurve[]>> {
  context.signal.throwIfAborted();
  return readSafely(source, () => readCurves(source, context, 0));
}

async function readCurves(
  source: ByteSource,
  context: CurveContext,
  depth: number,
): Promise<Result<readonly LoadedCurve[]>> {
  const file = source.name;
  if (source.size === 0) return failure("incomplete", `${file} is empty (0 bytes)`, { file });
  const head = await source.read(0, Math.min(LIMITS.headBytes, source.size));
  if (head[0] === 0x1f && head[1] === 0x8b && depth < LIMITS.containerDepth) return unpacked(source, context, depth);
  if (nexusReader.sniff(head, source) === "yes") {
    const opened = await openHdf5Checked(source, context.openHdf5);
    if (!opened.ok) return opened;
    try {
      return readNxcansas(opened.value);
    } finally {
      opened.value.close();
    }
  }
  if (!isPrintable(head)) return failure("unsupported", unknownFormat(file, head), { file });
  const text = await readTextFile(source);
  if (!text.ok) return text;
  if (/^\uFEFF?\s*</.test(text.value)) return readCansasXml(text.value.replace(/^\uFEFF?\s*/, ""), file);
  const columns = readColumns(text.value, file);
  return columns.ok ? { ok: true, value: [columns.value] } : columns;
}

async function unpacked(
  source: ByteSource,
  context: CurveContext,
  depth: number,
): Promise<Result<readonly LoadedCurve[]>> {
  if (source.size > LIMITS.archiveEntryBytes)
    return failure(
      "out-of-range",
      `${source.name} has ${source.size} packed bytes; the limit is ${LIMITS.archiveEntryBytes}`,
      {
        file: source.name,
      },
    );
  let bytes: Uint8Array<ArrayBuffer>;
  try {
    bytes = gunzip(await source.read(0, source.size), expansionLimit(source.size));
  } catch (error) {
    if (!(error instanceof PackedDataError)) throw error;
    return failure("unreadable", `${source.name}: ${error.message}`, { file: source.name });
  }
  return readCurves(bytesSource(source.name.replace(/\.gz$/i, ""), bytes), context, depth + 1);
}

import { failure, type Result, success } from "../../model/result.ts";
import { bytesSource } from "../byte-source.ts";
import { gunzip } from "../containers/gzip-reader.ts";
import { readZipDirectory, readZipEntry } from "../containers/zip-directory.ts";
import { zipReader } from "../containers/zip-reader.ts";
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

/** Every curve of a file: canSAS1D XML, NXcanSAS, or columns in text; any of them in gzip or zip. By content, not by name. */
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
  if (zipReader.sniff(head, source) === "yes" && depth < LIMITS.containerDepth)
    return inArchive(source, context, depth);
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

/** The curves of all files in an archive; what holds none is told of, and is a fault only where nothing else is there. */
async function inArchive(
  source: ByteSource,
  context: CurveContext,
  depth: number,
): Promise<Result<readonly LoadedCurve[]>> {
  const directory = await readZipDirectory(source);
  if (!directory.ok) return directory;
  const curves: LoadedCurve[] = [];
  const notes = [...directory.value.notes];
  let fault: Result<never> | undefined;
  for (const entry of directory.value.entries) {
    context.signal.throwIfAborted();
    const bytes = await readZipEntry(source, entry);
    const found = bytes.ok ? await readCurves(bytesSource(entry.name, bytes.value), context, depth + 1) : bytes;
    if (found.ok) curves.push(...found.value);
    else {
      notes.push(`"${entry.name}" in the archive is left out: ${found.fault.message}`);
      fault ??= found;
    }
  }
  if (curves.length === 0)
    return fault ?? failure("missing", `${source.name} is an archive without files`, { file: source.name });
  return success(curves.map((curve) => ({ ...curve, notes: [...curve.notes, ...notes] })));
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

import { lstat, mkdir } from "node:fs/promises";
import { dirname, join, parse } from "node:path";
import type { ExportFile } from "../../core/host-contract.ts";
import { failure, type Result, success } from "../../core/model/result.ts";
import { writeFileAtomic, writeFolderAtomic } from "./atomic-write.ts";
import { hasErrorCode, ioFault } from "./io-fault.ts";
import { isPlainName, isPlainPath } from "./safe-path.ts";
import type { Shell } from "./shell.ts";

/** Tries before "name-2", "name-3", ... is given up. */
const MOST_VERSIONS = 10_000;

/**
 * Saves what the window exports where the person says. One file is written under the name that was picked; several go
 * into a new folder. Nothing that exists is written over unless the person agreed in the dialog.
 */
export async function saveExport(
  shell: Shell,
  suggestedName: string,
  files: readonly ExportFile[],
): Promise<Result<{ readonly savedTo: string }>> {
  const problem = whatIsWrong(suggestedName, files);
  if (problem !== undefined) return failure("unsupported", problem);
  const [only] = files;
  const asFile = files.length === 1 && only !== undefined;
  const place = await shell.pickExportPlace(suggestedName, asFile ? "file" : "folder");
  if (place === undefined) return failure("cancelled", "the export was cancelled");
  const wanted = asFile ? place.path : join(place.path, suggestedName);
  try {
    const target = asFile && place.mayReplace ? wanted : await freeName(wanted);
    await mkdir(dirname(target), { recursive: true });
    if (asFile) await writeFileAtomic(target, only.bytes);
    else await writeFolderAtomic(target, files);
    return success({ savedTo: target });
  } catch (error) {
    return ioFault("write", wanted, error);
  }
}

function whatIsWrong(suggestedName: string, files: readonly ExportFile[]): string | undefined {
  if (!isPlainName(suggestedName)) return `"${suggestedName}" can't be a file name`;
  if (files.length === 0) return "there is nothing to export";
  const seen = new Set<string>();
  for (const { path } of files) {
    if (!isPlainPath(path)) return `"${path}" can't be the name of an exported file`;
    // Some disks don't tell capitals apart.
    if (seen.has(path.toLowerCase())) return `two exported files are called "${path}"`;
    seen.add(path.toLowerCase());
  }
  return undefined;
}

/** `path`, or the first of "path-2", "path-3", ... that isn't there. */
async function freeName(path: string): Promise<string> {
  const { dir, name, ext } = parse(path);
  for (let version = 1; version < MOST_VERSIONS; version++) {
    const candidate = version === 1 ? path : join(dir, `${name}-${version}${ext}`);
    try {
      await lstat(candidate);
    } catch (error) {
      if (hasErrorCode(error) && error.code === "ENOENT") return candidate;
      throw error;
    }
  }
  throw new RangeError(`${path} exists in ${MOST_VERSIONS} versions`);
}

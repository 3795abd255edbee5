import { zipSync } from "fflate";
import type { ExportFile, HostContract } from "../../core/host-contract.ts";
import { type Result, success } from "../../core/model/result.ts";
import { baseName } from "../state/plan-file.ts";

/**
 * Saves files through the host: one under its own name, several in a folder of the suggested name. Where the host has no
 * way to, the browser downloads them: one as it is, several as a zip.
 */
export async function saveFiles(
  host: HostContract,
  suggestedName: string,
  files: readonly ExportFile[],
): Promise<Result<{ readonly savedTo: string }>> {
  const [first] = files;
  const only = files.length === 1 ? first : undefined;
  const saved = await host.saveExport(only === undefined ? suggestedName : baseName(only.path), files);
  if (saved.ok || saved.fault.code !== "unsupported") return saved;
  if (only !== undefined) {
    const name = baseName(only.path);
    download(name, only.bytes);
    return success({ savedTo: `${name} in the downloads` });
  }
  const name = `${suggestedName}.zip`;
  download(name, zip(files));
  return success({ savedTo: `${name} in the downloads` });
}

/** The start of what zip can express: the files are made now, but equal contents shall make equal archives. */
const ZIP_EPOCH = "1980-01-01T00:00:00";

export function zip(files: readonly ExportFile[]): Uint8Array<ArrayBuffer> {
  const entries = Object.fromEntries(files.map(({ path, bytes }) => [path, bytes]));
  return new Uint8Array(zipSync(entries, { mtime: ZIP_EPOCH }));
}

function download(name: string, bytes: Uint8Array<ArrayBuffer>): void {
  const address = URL.createObjectURL(new Blob([bytes]));
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  link.click();
  // The download has its own hold on the bytes once it has begun.
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

import type { Run } from "../../model/frame.ts";
import { failure, type Result } from "../../model/result.ts";
import { bytesSource } from "../byte-source.ts";
import { openNpz } from "../npy/npz.ts";
import type { ByteSource, FormatReader, ReadChoice, ReaderContext } from "../reader.ts";
import { readZipDirectory, readZipEntry, type ZipEntry } from "./zip-directory.ts";

/**
 * Zip archives: NPZ where every entry is an NPY array, else one frame of any format that is read here. Entries are
 * unpacked in memory; nothing is ever written under a name from the archive.
 */
export const zipReader: FormatReader = {
  id: "zip",
  title: "zip archive",
  choices: ["entry", "dataset"],
  sniff: (head) =>
    head[0] === 0x50 && head[1] === 0x4b && ((head[2] === 3 && head[3] === 4) || (head[2] === 5 && head[3] === 6))
      ? "yes"
      : "no",
  async open(source, context) {
    const directory = await readZipDirectory(source);
    if (!directory.ok) return directory;
    const { entries, notes } = directory.value;
    const opened =
      entries.length > 0 && entries.every(({ name }) => name.endsWith(".npy"))
        ? await openNpz(source, entries, arrayChoice(context.choice))
        : await openMember(source, entries, context);
    if (!opened.ok || notes.length === 0) return opened;
    return { ok: true, value: { ...opened.value, notes: [...notes, ...opened.value.notes] } };
  },
};

/** An array of an NPZ is an entry of the archive as well as a dataset: either word names it. */
function arrayChoice({ entry, dataset = entry, ...rest }: ReadChoice): ReadChoice {
  return { ...rest, dataset };
}

const NAMES_SHOWN = 12;

/** The entry that `entry` names, or the only one. */
async function openMember(
  source: ByteSource,
  entries: readonly ZipEntry[],
  context: ReaderContext,
): Promise<Result<Run>> {
  const { entry: wanted, ...rest } = context.choice;
  const named = entries.find(({ name }) => name === wanted);
  const entry = named ?? (entries.length === 1 ? entries[0] : undefined);
  if (entry === undefined) {
    const names = entries.slice(0, NAMES_SHOWN).map(({ name }) => `"${name}"`);
    const more = entries.length > NAMES_SHOWN ? ` and ${entries.length - NAMES_SHOWN} more` : "";
    return entries.length === 0
      ? failure("missing", `${source.name} is an archive without files`, { file: source.name })
      : failure(
          "inconsistent",
          `${source.name} holds ${wanted === undefined ? "several files" : `no file "${wanted}"`}: ${names.join(", ")}${more}; name one with "entry"`,
          {
            file: source.name,
            field: "entry",
          },
        );
  }
  const bytes = await readZipEntry(source, entry);
  if (!bytes.ok) return bytes;
  const inner = bytesSource(entry.name.slice(entry.name.lastIndexOf("/") + 1), bytes.value);
  return context.openInner(inner, named === undefined ? context.choice : rest);
}

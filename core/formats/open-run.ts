import type { Run } from "../model/frame.ts";
import { type Fault, failure, type Result } from "../model/result.ts";
import { LIMITS } from "./limits.ts";
import type { ByteSource, FormatReader, ReadChoice, ReadContext } from "./reader.ts";
import { READERS } from "./readers.ts";

/** Opens a file by its content; the name decides nothing. The run owns what it opened: `close` it. */
export function openRun(source: ByteSource, context: ReadContext): Promise<Result<Run>> {
  return openAt(source, context, 0);
}

async function openAt(source: ByteSource, context: ReadContext, depth: number): Promise<Result<Run>> {
  context.signal.throwIfAborted();
  if (depth > LIMITS.containerDepth)
    return failure(
      "unsupported",
      `${source.name} lies in more than ${LIMITS.containerDepth} containers in each other`,
      {
        file: source.name,
      },
    );
  return readSafely(source, async () => {
    if (source.size === 0) return failure("incomplete", `${source.name} is empty (0 bytes)`, { file: source.name });
    const head = await source.read(0, Math.min(LIMITS.headBytes, source.size));
    const reader = readerFor(READERS, head, source) ?? (await userBlockReader(source));
    if (reader === undefined) return failure("unsupported", unknownFormat(source.name, head), { file: source.name });
    const pointless = (["entry", "dataset"] as const).find(
      (key) => context.choice[key] !== undefined && !reader.choices.includes(key),
    );
    if (pointless !== undefined)
      return failure(
        "inconsistent",
        `${source.name} is ${reader.title}, which has no ${pointless} to choose: leave out "${context.choice[pointless]}"`,
        { file: source.name, field: pointless },
      );
    const openInner = (inner: ByteSource, choice: ReadChoice) => openAt(inner, { ...context, choice }, depth + 1);
    const run = await reader.open(source, { ...context, openInner });
    return run.ok || reader.id !== "text" ? run : namedOtherwise(source.name, run.fault);
  });
}

/** What the system says of a file that can't be read becomes a fault; bugs and cancelling pass through. */
export async function readSafely<T>(source: ByteSource, work: () => Promise<Result<T>>): Promise<Result<T>> {
  try {
    return await work();
  } catch (error) {
    const isSystem =
      error instanceof Error && "code" in error && typeof error.code === "string" && error.name !== "AbortError";
    if (!isSystem) throw error;
    return failure("unreadable", `${source.name} can't be read: ${error.message}`, { file: source.name });
  }
}

/** The reader that is sure, else the first that may be right. */
export function readerFor<R extends Pick<FormatReader, "sniff">>(
  readers: readonly R[],
  head: Uint8Array,
  source: { readonly name: string; readonly size: number },
): R | undefined {
  const answers = readers.map((reader) => ({ reader, answer: reader.sniff(head, source) }));
  return (answers.find(({ answer }) => answer === "yes") ?? answers.find(({ answer }) => answer === "maybe"))?.reader;
}

const LARGEST_USER_BLOCK = 2 ** 26;

/** HDF5 behind a user block that is longer than the head: the signature stands at 512 x 2^n. */
async function userBlockReader(source: ByteSource): Promise<FormatReader | undefined> {
  for (let at: number = LIMITS.headBytes; at + 8 <= source.size && at <= LARGEST_USER_BLOCK; at *= 2) {
    const head = await source.read(at, at + 8);
    const reader = READERS.find(({ id }) => id === "nexus");
    if (reader?.sniff(head, source) === "yes") return reader;
  }
  return undefined;
}

const EXTENSIONS: Readonly<Record<string, string>> = {
  h5: "HDF5",
  hdf5: "HDF5",
  hdf: "HDF5",
  nxs: "HDF5",
  nx: "HDF5",
  tif: "TIFF",
  tiff: "TIFF",
  npy: "NPY",
  npz: "zip",
  zip: "zip",
  gz: "gzip",
  cbf: "CBF",
};

/** What the end of a name says of the content. */
function claimOf(name: string): { readonly extension: string; readonly format: string } | undefined {
  const extension = /\.([a-z0-9]+)$/i.exec(name)?.[1]?.toLowerCase() ?? "";
  const format = EXTENSIONS[extension];
  return format === undefined ? undefined : { extension, format };
}

/** Text that is no frame either, in a file whose name promises more: the name is what the person looks at. */
function namedOtherwise(name: string, fault: Fault): { readonly ok: false; readonly fault: Fault } {
  const claim = claimOf(name);
  if (claim === undefined) return { ok: false, fault };
  const asText = fault.message.startsWith(`${name}: `) ? fault.message.slice(name.length + 2) : fault.message;
  const message = `${name} is named .${claim.extension} but holds text, not ${claim.format}; as text: ${asText}`;
  return { ok: false, fault: { ...fault, message } };
}

/** Bytes shown of a file that nothing recognises. */
const SHOWN = 8;

export function unknownFormat(name: string, head: Uint8Array): string {
  const hex = Array.from(head.subarray(0, SHOWN), (byte) => byte.toString(16).padStart(2, "0")).join(" ");
  if (head[0] === 0x0e && head[1] === 0x03 && head[2] === 0x13 && head[3] === 0x01)
    return `${name} is HDF4, which is not supported: convert it to HDF5`;
  const claim = claimOf(name);
  if (claim !== undefined)
    return `${name} is named .${claim.extension} but does not start like ${claim.format} or any other format that is read here (it starts with ${hex})`;
  return `${name} is of no format that is read here (it starts with ${hex})`;
}

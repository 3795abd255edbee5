import type { Run } from "../../model/frame.ts";
import { MASK_REASONS } from "../../model/mask.ts";
import { failure, type Result, success } from "../../model/result.ts";
import { bytesSource } from "../byte-source.ts";
import { readZipEntry, type ZipEntry } from "../containers/zip-directory.ts";
import { plainRun } from "../plain-run.ts";
import type { ByteSource, ReadChoice } from "../reader.ts";
import { type NpyArray, openNpyArray } from "./npy-array.ts";

/** Array names that are taken for the frame, in this order, where there are several. */
const FRAME_NAMES = ["data", "counts", "image"];
const MASK_NAME = "mask";

/** An NPZ archive: the array asked for by `dataset`, or one with a usual name, or the only one that is a frame. */
export async function openNpz(
  source: ByteSource,
  entries: readonly ZipEntry[],
  choice: ReadChoice,
): Promise<Result<Run>> {
  const names = entries.map(({ name }) => name.replace(/\.npy$/, ""));
  const array = async (name: string): Promise<Result<NpyArray>> => {
    const bytes = await readZipEntry(source, entries[names.indexOf(name)]!);
    return bytes.ok ? openNpyArray(bytesSource(`${source.name}/${name}`, bytes.value)) : bytes;
  };
  const taken = await chooseArray(source, names, choice.dataset, array);
  if (!taken.ok) return taken;
  const { name, npy } = taken.value;
  const [height, width] = npy.shape.slice(-2) as [number, number];
  const mask = name !== MASK_NAME && names.includes(MASK_NAME) ? await array(MASK_NAME) : undefined;
  if (mask !== undefined && !mask.ok) return mask;
  const fits = mask?.value.shape.join() === `${height},${width}`;
  const notes = [
    `frame: array "${name}" of ${names.map((n) => `"${n}"`).join(", ")}`,
    ...(mask !== undefined && !fits
      ? [`array "${MASK_NAME}" is ${mask.value.shape.join(" x ")} and does not fit the frame: not used`]
      : []),
    ...(fits ? [`array "${MASK_NAME}" masks the pixels where it is not 0`] : []),
    "columns are taken as x, rows as y from the bottom up",
  ];
  return success(
    plainRun({
      name: source.name,
      format: "npz",
      formatTitle: "NPZ archive of arrays",
      bankName: name,
      path: name,
      width,
      height,
      frames: npy.shape.length === 3 ? npy.shape[0]! : 1,
      counting: !npy.type.startsWith("float"),
      rowOrder: "bottom-up",
      transpose: false,
      choice,
      notes,
      warnings: npy.warnings,
      readPixels: (index) => npy.readFrame(index),
      ...(fits && { readMask: () => maskBits(mask.value) }),
    }),
  );
}

async function maskBits(mask: NpyArray): Promise<Result<Uint16Array>> {
  const values = await mask.readFrame(0);
  return values.ok ? success(Uint16Array.from(values.value, (value) => (value !== 0 ? MASK_REASONS.file : 0))) : values;
}

async function chooseArray(
  source: ByteSource,
  names: readonly string[],
  wanted: string | undefined,
  array: (name: string) => Promise<Result<NpyArray>>,
): Promise<Result<{ readonly name: string; readonly npy: NpyArray }>> {
  const file = source.name;
  const list = names.map((name) => `"${name}"`).join(", ");
  const name = wanted ?? FRAME_NAMES.find((candidate) => names.includes(candidate));
  if (name !== undefined) {
    if (!names.includes(name))
      return failure("missing", `${file} has no array "${name}"; it has ${list}`, { file, field: name });
    const npy = await array(name);
    if (!npy.ok) return npy;
    if (npy.value.shape.length < 2)
      return failure("inconsistent", `array "${name}" of ${file} is a list, not a frame`, { file, field: name });
    return success({ name, npy: npy.value });
  }
  const frames: { name: string; npy: NpyArray }[] = [];
  let fault: Result<never> | undefined;
  for (const candidate of names) {
    if (candidate === MASK_NAME && names.length > 1) continue;
    const npy = await array(candidate);
    if (!npy.ok) fault ??= npy;
    else if (npy.value.shape.length >= 2) frames.push({ name: candidate, npy: npy.value });
  }
  if (frames.length === 1) return success(frames[0]!);
  if (frames.length === 0)
    return fault ?? failure("missing", `${file} holds no array of rank 2 or 3: ${list}`, { file });
  return failure(
    "inconsistent",
    `${file} holds several frames: ${frames.map((f) => `"${f.name}"`).join(", ")}; name one with "dataset"`,
    {
      file,
      field: "dataset",
    },
  );
}

import type { Bank, Frame, PixelArray, Run } from "../../model/frame.ts";
import { MASK_REASONS } from "../../model/mask.ts";
import { failure, type Result, success } from "../../model/result.ts";
import type { Hdf5Dataset, Hdf5File } from "../hdf5/hdf5-file.ts";
import { openHdf5Checked } from "../hdf5/open-checked.ts";
import { isUnwritten } from "../hdf5/storage-layout.ts";
import { checkFrameSize, expansionLimit } from "../limits.ts";
import { makeFrame } from "../make-frame.ts";
import type { ByteSource, FormatReader, ReadChoice } from "../reader.ts";
import { detectorMask } from "./detector-mask.ts";
import { openEventBank } from "./event-bank.ts";
import { textField } from "./fields.ts";
import { type FrameDataset, findFrames, homePath } from "./find-frames.ts";
import { frameLayout, hasForeignOrder } from "./layout.ts";
import { collectMetadata, type FoundMetadata } from "./metadata.ts";
import type { BankContext, OpenedBank } from "./opened-bank.ts";
import { readScaling, scaled } from "./scaling.ts";
import { readTree, type Tree, type TreeGroup, textAttribute } from "./tree.ts";

const SIGNATURE = [0x89, 0x48, 0x44, 0x46, 0x0d, 0x0a, 0x1a, 0x0a];

/** NeXus on HDF5 in its old and new conventions, and plain HDF5 with one image in it. */
export const nexusReader: FormatReader = {
  id: "nexus",
  title: "NeXus/HDF5",
  choices: ["entry", "dataset"],
  sniff(head) {
    // A user block of 512 x 2^n bytes may stand before the signature.
    for (let at = 0; at + SIGNATURE.length <= head.length; at = at === 0 ? 512 : at * 2)
      if (SIGNATURE.every((byte, i) => head[at + i] === byte)) return "yes";
    return "no";
  },
  async open(source, context) {
    const opened = await openHdf5Checked(source, context.openHdf5);
    if (!opened.ok) return opened;
    const file = opened.value;
    const run = await openNexus(file, source, context.choice);
    if (!run.ok) file.close();
    return run;
  },
};

/** The run in the open HDF5 file of `source`, which it then owns: `close` of the run closes it. */
async function openNexus(file: Hdf5File, source: ByteSource, choice: ReadChoice): Promise<Result<Run>> {
  const tree = readTree(file);
  if (!tree.ok) return tree;
  const found = findFrames(tree.value, choice);
  if (!found.ok) {
    const { code, message, ...place } = found.fault;
    const cut = tree.value.notes.find((note) => /nested deeper than|only the first|leads to another file/.test(note));
    return cut === undefined ? found : failure(code, `${message}; ${cut}`, place);
  }
  const { entry, frames, events, isNexus, notes } = found.value;
  const context = { choice, source };
  const openings = [
    ...frames.map((frame) => () => openBank(tree.value, entry, frame, context)),
    ...events.map((list) => () => openEventBank(tree.value, entry, list, context)),
  ];
  const banks: Bank[] = [];
  const parts: FoundMetadata[] = [];
  const warnings: string[] = [];
  const bankNotes: string[] = [];
  for (const open of openings) {
    const bank = await open();
    if (!bank.ok) {
      if (banks.length === 0 || bank.fault.code === "incomplete") return bank;
      warnings.push(`bank left out: ${bank.fault.message}`);
      continue;
    }
    banks.push(bank.value.bank);
    parts.push(bank.value.metadata);
    bankNotes.push(...bank.value.notes);
  }
  const first = parts[0]!;
  return success({
    name: file.name,
    format: isNexus ? "nexus" : "hdf5",
    formatTitle: isNexus ? "NeXus/HDF5" : "HDF5 without NeXus classes",
    banks,
    metadata: first.run,
    alternatives: first.alternatives,
    notes: [...notes, ...bankNotes, ...tree.value.notes, ...file.notes],
    warnings: [...first.warnings, ...warnings],
    close: () => file.close(),
  });
}

async function openBank(
  tree: Tree,
  entry: TreeGroup,
  frame: FrameDataset,
  { choice, source }: BankContext,
): Promise<Result<OpenedBank>> {
  const { dataset, detector } = frame;
  const path = detector === undefined ? dataset.path : homePath(detector, dataset);
  const place = { file: tree.file.name, field: path };
  if (hasForeignOrder(frame))
    return failure("unsupported", `${path} stores its values in an order of its own (attribute stride)`, place);
  const layout = frameLayout(tree, frame, textField(tree, entry, "definition")?.value);
  const { width, height, frames, axis } = layout;
  const size = checkFrameSize(path, width, height);
  if (!size.ok) return failure(size.fault.code, size.fault.message, place);
  // Chunks that were never written take no place in the file, so a small one can declare any number of pixels.
  const bytes = width * height * dataset.bytesPerElement;
  if (bytes > expansionLimit(source.size))
    return failure(
      "out-of-range",
      `${path} declares ${bytes} bytes a frame in a file of ${source.size}; the limit is ${expansionLimit(source.size)}`,
      place,
    );
  if (await isUnwritten(source, dataset))
    return failure(
      "incomplete",
      `${path} is empty so far: nothing was written to it, the file is not complete yet`,
      place,
    );
  const ready = await tree.file.prepare(dataset.path);
  if (!ready.ok) return ready;
  const masks = detectorMask(tree, detector, width, height, frames);
  if (!masks.ok) return masks;
  const transpose = choice.transpose ?? layout.transpose;
  const rowOrder = choice.rowOrder ?? displayOrder(dataset) ?? "bottom-up";
  const metadata = collectMetadata(tree, entry, detector, { width, height, transpose });
  const isCount = /^(u?int|boolean)/.test(dataset.type);
  const readScale = readScaling(tree, frame);
  if (!readScale.ok) return readScale;
  const scaling = readScale.value;
  const scaleNote = scaling === undefined ? [] : [scaling.note];
  const errors = errorsOf(frame);
  const { saturation, underload } = masks.value;
  const bank: Bank = {
    name: detector?.name ?? frame.group.name,
    path,
    width,
    height,
    frames,
    axis,
    counting: isCount && scaling === undefined,
    rowOrder,
    transpose,
    metadata: metadata.bank,
    async readFrame(index, signal): Promise<Result<Frame>> {
      signal.throwIfAborted();
      if (!(Number.isInteger(index) && index >= 0 && index < frames))
        return failure("out-of-range", `${path} has frames 0 to ${frames - 1}; there is no frame ${index}`, place);
      const values = tree.file.read(dataset.path, layout.slice(index));
      if (!values.ok) return values;
      const mask = masks.value.maskOf(index);
      if (!mask.ok) return mask;
      const more = addDataMask(tree, frame, layout.slice(index), mask.value);
      if (!more.ok) return more;
      const variance = errors === undefined ? undefined : readVariance(tree, errors, layout.slice(index), dataset);
      if (variance !== undefined && !variance.ok) return variance;
      const counts: PixelArray = values.value;
      // Flags and limits are about the values as they are stored.
      const raw = makeFrame({
        width,
        height,
        counts,
        counting: isCount,
        rowOrder,
        transpose,
        mask: mask.value,
        saturation,
        underload,
        warnings: weightsWarning(frame),
        ...(variance !== undefined && { variance: variance.value }),
      });
      return success(scaling === undefined ? raw : { ...raw, counts: scaled(raw.counts, scaling) });
    },
  };
  return success({ bank, metadata, notes: [...layout.notes, ...metadata.notes, ...scaleNote] });
}

/** ORs the mask that belongs to the dataset: named by `@mask`, or Mask, or NAME_mask; not 0 means left out. */
function addDataMask(
  tree: Tree,
  { dataset, group }: FrameDataset,
  slice: readonly (readonly [number, number])[],
  mask: Uint16Array,
): Result<undefined> {
  const name = dataset.path.slice(dataset.path.lastIndexOf("/") + 1);
  const names = [textAttribute(group.attributes, "mask"), "Mask", `${name}_mask`];
  const found = names
    .map((candidate) => group.datasets.get(candidate ?? ""))
    .find((candidate) => candidate !== undefined);
  if (found === undefined) return success(undefined);
  if (found.shape.join() !== dataset.shape.join())
    return failure(
      "inconsistent",
      `${found.path} is ${found.shape.join(" x ")}; the frame is ${dataset.shape.join(" x ")}`,
      {
        file: tree.file.name,
        field: found.path,
      },
    );
  const values = tree.file.read(found.path, slice);
  if (!values.ok) return values;
  for (let p = 0; p < mask.length; p++) if (values.value[p] !== 0) mask[p]! |= MASK_REASONS.file;
  return success(undefined);
}

/** The field with standard deviations: named by `@uncertainties`, or NAME_errors, or errors. */
function errorsOf({ dataset, group }: FrameDataset): Hdf5Dataset | undefined {
  const name = dataset.path.slice(dataset.path.lastIndexOf("/") + 1);
  const named = textAttribute(dataset.attributes, "uncertainties");
  for (const candidate of [named, `${name}_errors`, "errors"]) {
    const errors = candidate === undefined ? undefined : group.datasets.get(candidate);
    if (errors !== undefined && errors.shape.join() === dataset.shape.join()) return errors;
  }
  return undefined;
}

function readVariance(
  tree: Tree,
  errors: Hdf5Dataset,
  slice: readonly (readonly [number, number])[],
  dataset: Hdf5Dataset,
): Result<Float64Array> {
  if (errors.address === dataset.address) return failure("inconsistent", `${errors.path} is the frame itself`);
  const values = tree.file.read(errors.path, slice);
  return values.ok ? success(Float64Array.from(values.value, (sigma) => sigma * sigma)) : values;
}

function weightsWarning({ dataset, group }: FrameDataset): string[] {
  const name = `${dataset.path.slice(dataset.path.lastIndexOf("/") + 1)}_weights`;
  return group.datasets.has(name) ? [`${group.path}/${name} is in the file and is not applied`] : [];
}

/** DISPLAY_ORIGIN of the HDF5 image convention: the corner that holds the first pixel. */
function displayOrder(dataset: Hdf5Dataset): "bottom-up" | "top-down" | undefined {
  const origin = textAttribute(dataset.attributes, "DISPLAY_ORIGIN");
  return origin === undefined ? undefined : origin.startsWith("U") ? "top-down" : "bottom-up";
}

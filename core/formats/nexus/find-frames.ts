import { failure, type Result, success } from "../../model/result.ts";
import { isNumericType } from "../hdf5/decode-values.ts";
import type { Hdf5Dataset } from "../hdf5/hdf5-file.ts";
import type { ReadChoice } from "../reader.ts";
import { type EventList, eventLists } from "./event-lists.ts";
import { type PixelGrid, pixelGrid } from "./pixel-grid.ts";
import { groupsBelow, hasClass, isSet, type Tree, type TreeGroup, textAttribute } from "./tree.ts";

/** One dataset that holds detector images, and the groups that speak of it. */
export interface FrameDataset {
  readonly dataset: Hdf5Dataset;
  /** The group in which the rule found it; its attributes name the axes. */
  readonly group: TreeGroup;
  readonly detector: TreeGroup | undefined;
  /** Rows and columns of a frame whose pixels are stored as one list. */
  readonly grid?: PixelGrid;
}

export interface FoundFrames {
  readonly entry: TreeGroup;
  /** The chosen one first, then the other detectors of the entry. */
  readonly frames: readonly FrameDataset[];
  /** Lists of events to be counted; only where there are no frames. */
  readonly events: readonly EventList[];
  readonly isNexus: boolean;
  readonly notes: readonly string[];
}

/** Names of image datasets inside an NXdetector: the first is the standard's, the others are met in files. */
const DETECTOR_FIELDS = ["data", "counts", "frames", "image", "detector_data"];
/** Shorter sides are tables, not images. Applies where nothing but shape speaks for a dataset. */
const SMALLEST_SIDE = 16;

/** Numeric, and of rank 2 or more once dimensions of length 1 are dropped. */
export function isImage(dataset: Hdf5Dataset): boolean {
  return isNumericType(dataset.type) && !dataset.shape.includes(0) && dataset.shape.filter((n) => n > 1).length >= 2;
}

/**
 * Finds the dataset that is the frame, and the other banks of its entry. The rules in their order: `@default` and
 * `@signal` (NeXus manual, data rules, version 3); a field with attribute signal = 1 in an NXdata, then in an
 * NXdetector (version 2); the data field of an NXdetector; the events of NXevent_data; the only numeric dataset that has
 * the shape of an image.
 */
export function findFrames(tree: Tree, choice: ReadChoice): Result<FoundFrames> {
  const notes: string[] = [];
  const isNexus = tree.groups.some((group) => group.nxClass.startsWith("NX") && group.nxClass !== "NXroot");
  const entries = tree.groups.filter(hasClass("NXentry", "NXsubentry"));
  const candidates = entryOrder(tree, entries, choice.entry, notes);
  if (!candidates.ok) return candidates;
  if (choice.dataset !== undefined) return chosenDataset(tree, choice.dataset, isNexus);
  for (const entry of candidates.value) {
    const taken = byDefault(entry, notes) ?? bySignal(entry, notes) ?? byDetector(entry, notes);
    const events = eventLists(entry);
    if (taken === undefined && events.length === 0) continue;
    if (entries.length > 1)
      notes.push(
        `entry ${entry.path} taken of ${entries.map(({ path }) => path).join(", ")}; choose another with "entry"`,
      );
    if (taken === undefined) return success({ entry, frames: [], events, isNexus, notes });
    for (const path of new Set(events.map(({ group }) => group.path)))
      notes.push(`${path} holds events: count them with dataset "${path}"`);
    return success({ entry, frames: [taken, ...otherBanks(entry, taken)], events: [], isNexus, notes });
  }
  const wanted = choice.entry === undefined ? undefined : candidates.value[0];
  return byShape(tree, candidates.value[0] ?? tree.root, { isNexus, notes, within: wanted });
}

function chosenDataset(tree: Tree, path: string, isNexus: boolean): Result<FoundFrames> {
  const absolute = path.startsWith("/") ? path : `/${path}`;
  const node = tree.file.node(absolute);
  if (!node.ok) return node;
  const asked = `${absolute}, as asked for`;
  const list = tree.groups.find(({ address }) => address === node.value.address);
  if (list?.nxClass === "NXevent_data") {
    const entry = ancestor(list, hasClass("NXentry", "NXsubentry")) ?? tree.root;
    const events = eventLists(entry).filter(({ group }) => group === list);
    return success({ entry, frames: [], events, isNexus, notes: [`events: ${asked}`] });
  }
  if (node.value.kind !== "dataset" || !isImage(node.value))
    return failure(
      "inconsistent",
      `${absolute} is not a numeric dataset of rank 2 or more${candidateText(imageDatasets(tree))}`,
      {
        file: tree.file.name,
        field: absolute,
      },
    );
  const dataset = node.value;
  const parentPath = absolute.slice(0, absolute.lastIndexOf("/"));
  const group =
    tree.groups.find(({ path: p }) => p === parentPath) ?? tree.groups.find((g) => holds(g, dataset)) ?? tree.root;
  const entry = ancestor(group, hasClass("NXentry", "NXsubentry")) ?? tree.root;
  const frame = { dataset, group, detector: detectorOf(entry, dataset, group) };
  return success({ entry, frames: [frame], events: [], isNexus, notes: [`frame: ${asked}`] });
}

/** The entries to look into, the best first. */
function entryOrder(
  tree: Tree,
  entries: readonly TreeGroup[],
  wanted: string | undefined,
  notes: string[],
): Result<readonly TreeGroup[]> {
  if (wanted !== undefined) {
    const entry = entries.find(({ name, path }) => name === wanted || path === wanted || path === `/${wanted}`);
    return entry === undefined
      ? failure(
          "missing",
          `${tree.file.name} has no entry "${wanted}"; it has ${entries.map(({ name }) => name).join(", ") || "none"}`,
          { file: tree.file.name, field: wanted },
        )
      : success([entry]);
  }
  const name = textAttribute(tree.root.attributes, "default");
  if (name === undefined) return success(entries);
  const target = tree.root.groups.get(name.replace(/^\//, ""));
  if (target === undefined) {
    notes.push(`@default of the file names "${name}", which is not there`);
    return success(entries);
  }
  return success([target, ...entries.filter((entry) => entry !== target)]);
}

function byDefault(entry: TreeGroup, notes: string[]): FrameDataset | undefined {
  let group = entry;
  const seen = new Set([group.address]);
  for (;;) {
    const name = textAttribute(group.attributes, "default");
    if (name === undefined) break;
    const next = group.groups.get(name);
    if (next === undefined) {
      notes.push(`@default of ${group.path} names "${name}", which is not there`);
      return undefined;
    }
    if (seen.has(next.address)) {
      notes.push(`@default runs in a loop at ${next.path}`);
      return undefined;
    }
    seen.add(next.address);
    group = next;
  }
  return group === entry ? undefined : signalOf(entry, group, notes, "@default and @signal");
}

/** The field that a group's `@signal` names, or undefined with a note. */
function signalOf(entry: TreeGroup, group: TreeGroup, notes: string[], rule: string): FrameDataset | undefined {
  const name = textAttribute(group.attributes, "signal");
  if (name === undefined) return undefined;
  const dataset = group.datasets.get(name);
  if (dataset === undefined) {
    notes.push(`@signal of ${group.path} names "${name}", which is not there`);
    return undefined;
  }
  return take(entry, group, dataset, notes, rule);
}

function bySignal(entry: TreeGroup, notes: string[]): FrameDataset | undefined {
  const dataGroups = groupsBelow(entry, hasClass("NXdata"));
  for (const group of dataGroups) {
    const found = signalOf(entry, group, notes, "@signal of an NXdata");
    if (found !== undefined) return found;
  }
  for (const group of [...dataGroups, ...groupsBelow(entry, hasClass("NXdetector"))])
    for (const dataset of group.datasets.values()) {
      if (!isSet(dataset.attributes, "signal")) continue;
      const found = take(entry, group, dataset, notes, `signal = 1 in a group of class ${group.nxClass}`);
      if (found !== undefined) return found;
    }
  return undefined;
}

function byDetector(entry: TreeGroup, notes: string[]): FrameDataset | undefined {
  for (const detector of groupsBelow(entry, hasClass("NXdetector")))
    for (const name of DETECTOR_FIELDS) {
      const dataset = detector.datasets.get(name);
      if (dataset === undefined) continue;
      const found = take(entry, detector, dataset, notes, `field "${name}" of an NXdetector`);
      if (found !== undefined) return found;
    }
  return undefined;
}

function take(
  entry: TreeGroup,
  group: TreeGroup,
  dataset: Hdf5Dataset,
  notes: string[],
  rule: string,
): FrameDataset | undefined {
  const detector = detectorOf(entry, dataset, group);
  const grid = pixelGrid(dataset, [detector, group]);
  if (!isImage(dataset) && grid === undefined) {
    notes.push(`${dataset.path} (${rule}) is passed over: ${shapeText(dataset)}`);
    return undefined;
  }
  const home = detector !== undefined ? homePath(detector, dataset) : dataset.path;
  notes.push(`frame: ${home}, found by ${rule}${home === dataset.path ? "" : ` at ${dataset.path}`}`);
  return { dataset, group, detector, ...(grid !== undefined && { grid }) };
}

function otherBanks(entry: TreeGroup, taken: FrameDataset): FrameDataset[] {
  const seen = new Set([taken.dataset.address]);
  const banks: FrameDataset[] = [];
  for (const detector of groupsBelow(entry, hasClass("NXdetector"))) {
    if (detector === taken.detector) continue;
    const signal = [...detector.datasets.values()].find((d) => isSet(d.attributes, "signal") && isImage(d));
    const named = DETECTOR_FIELDS.map((name) => detector.datasets.get(name)).find((d) => d !== undefined && isImage(d));
    const dataset = signal ?? named;
    if (dataset === undefined || seen.has(dataset.address)) continue;
    seen.add(dataset.address);
    banks.push({ dataset, group: detector, detector });
  }
  return banks;
}

interface ShapeSearch {
  readonly isNexus: boolean;
  readonly notes: readonly string[];
  /** The entry that was asked for: no other's datasets count. */
  readonly within: TreeGroup | undefined;
}

function byShape(tree: Tree, entry: TreeGroup, { isNexus, notes, within }: ShapeSearch): Result<FoundFrames> {
  const images = imageDatasets(tree, within);
  const where = within === undefined ? tree.file.name : `entry ${within.path} of ${tree.file.name}`;
  if (images.length > 1)
    return failure(
      "inconsistent",
      `${where} holds ${images.length} datasets that could be the frame${candidateText(images)}; name one with "dataset"`,
      { file: tree.file.name, field: "dataset" },
    );
  const dataset = images[0];
  if (dataset === undefined) {
    const passed = notes.find((note) => note.includes("passed over"));
    const detail = passed === undefined ? "" : ` (${passed})`;
    return failure("missing", `${where} holds no frame of rank 2 or more${detail}`, { file: tree.file.name });
  }
  const group = tree.groups.find((candidate) => holds(candidate, dataset)) ?? tree.root;
  const rule = "the only numeric dataset with the shape of an image";
  const home = ancestor(group, hasClass("NXentry", "NXsubentry")) ?? entry;
  const frame = { dataset, group, detector: detectorOf(home, dataset, group) };
  return success({
    entry: home,
    frames: [frame],
    events: [],
    isNexus,
    notes: [...notes, `frame: ${dataset.path}, found as ${rule}`],
  });
}

function imageDatasets(tree: Tree, within?: TreeGroup): Hdf5Dataset[] {
  const datasets =
    within === undefined
      ? tree.datasets.values()
      : groupsBelow(within, () => true).flatMap((group) => [...group.datasets.values()]);
  const once = new Map([...datasets].map((dataset) => [dataset.address, dataset]));
  return [...once.values()].filter(
    (dataset) =>
      isImage(dataset) &&
      dataset.shape
        .filter((n) => n > 1)
        .slice(-2)
        .every((n) => n >= SMALLEST_SIDE),
  );
}

const CANDIDATES_SHOWN = 12;

function candidateText(images: readonly Hdf5Dataset[]): string {
  if (images.length === 0) return "";
  const shown = images.slice(0, CANDIDATES_SHOWN).map((dataset) => `${dataset.path} (${dataset.shape.join(" x ")})`);
  const more = images.length > CANDIDATES_SHOWN ? ` and ${images.length - CANDIDATES_SHOWN} more` : "";
  return `: ${shown.join(", ")}${more}`;
}

/** The NXdetector that a dataset belongs to: the one that holds it, the one above it, or the only one there is. */
function detectorOf(entry: TreeGroup, dataset: Hdf5Dataset, group: TreeGroup): TreeGroup | undefined {
  const detectors = groupsBelow(entry, hasClass("NXdetector"));
  return (
    detectors.find((detector) => holds(detector, dataset)) ??
    ancestor(group, hasClass("NXdetector")) ??
    (detectors.length === 1 ? detectors[0] : undefined)
  );
}

function holds(group: TreeGroup, dataset: Hdf5Dataset): boolean {
  return [...group.datasets.values()].some(({ address }) => address === dataset.address);
}

/** Where the detector itself has the dataset, rather than the link through which it was found. */
export function homePath(detector: TreeGroup, dataset: Hdf5Dataset): string {
  return [...detector.datasets.values()].find(({ address }) => address === dataset.address)?.path ?? dataset.path;
}

function ancestor(group: TreeGroup, accept: (candidate: TreeGroup) => boolean): TreeGroup | undefined {
  for (let at: TreeGroup | undefined = group; at !== undefined; at = at.parent) if (accept(at)) return at;
  return undefined;
}

function shapeText(dataset: Hdf5Dataset): string {
  if (!isNumericType(dataset.type)) return `it holds ${dataset.type} values`;
  if (dataset.shape.length === 0) return "it is a single value";
  return `its shape is ${dataset.shape.join(" x ")}`;
}

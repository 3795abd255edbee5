import { failure, type Result, success } from "../../model/result.ts";
import type { Hdf5Dataset, Hdf5File } from "../hdf5/hdf5-file.ts";
import { textField } from "../nexus/fields.ts";
import { collectMetadata } from "../nexus/metadata.ts";
import { groupsBelow, hasClass, readTree, type Tree, type TreeGroup, textAttribute } from "../nexus/tree.ts";
import { type LoadedCurve, makeCurve } from "./loaded-curve.ts";

/**
 * Every curve of an NXcanSAS file: groups of canSAS_class SASdata, by the older name of that attribute too, else NXdata
 * of an entry with that definition. Maps of rank 2 are frames and are passed over here. @see NXcanSAS
 */
export function readNxcansas(file: Hdf5File): Result<LoadedCurve[]> {
  const tree = readTree(file);
  if (!tree.ok) return tree;
  const groups = tree.value.groups.filter((group) => sasClass(group) === "SASdata");
  const dataGroups =
    groups.length > 0 ? groups : tree.value.groups.filter((group) => isDataOfDefinition(tree.value, group));
  if (dataGroups.length === 0)
    return failure("unsupported", `${file.name} holds no curve of NXcanSAS (no group of canSAS_class SASdata)`, {
      file: file.name,
    });
  const curves: LoadedCurve[] = [];
  let fault: Result<never> | undefined;
  let maps = 0;
  for (const group of dataGroups) {
    const curve = curveOf(tree.value, group);
    if (!curve.ok) fault ??= curve;
    else if (curve.value === undefined) maps++;
    else curves.push(curve.value);
  }
  if (curves.length > 0) return success(curves);
  if (fault !== undefined) return fault;
  return failure("unsupported", `${file.name} holds ${maps} maps of intensity and no curve: open it as a frame`, {
    file: file.name,
  });
}

function sasClass(group: TreeGroup): string | undefined {
  return textAttribute(group.attributes, "canSAS_class") ?? textAttribute(group.attributes, "SAS_class");
}

function isDataOfDefinition(tree: Tree, group: TreeGroup): boolean {
  if (group.nxClass !== "NXdata" || group.parent === undefined) return false;
  return textField(tree, group.parent, "definition")?.value === "NXcanSAS";
}

/** Undefined where the group holds a map. */
function curveOf(tree: Tree, group: TreeGroup): Result<LoadedCurve | undefined> {
  const file = tree.file.name;
  const notes: string[] = [];
  const signal = textAttribute(group.attributes, "signal") ?? "I";
  const intensity = group.datasets.get(signal) ?? group.datasets.get("I");
  const q = group.datasets.get("Q");
  if (intensity === undefined)
    return failure("missing", `${group.path} names "${signal}" as its signal, which is not there`, {
      file,
      field: group.path,
    });
  if (intensity.shape.filter((n) => n > 1).length > 1) return success(undefined);
  if (q === undefined) return failure("missing", `${group.path} has no Q`, { file, field: group.path });
  const columns = [
    intensity,
    q,
    named(group, intensity, "uncertainties", "Idev", notes),
    resolution(group, q, notes),
  ] as const;
  const read = columns.map((dataset) => (dataset === undefined ? undefined : numbersOf(tree, dataset)));
  for (const column of read) if (column !== undefined && !column.ok) return column;
  const [i, qs, sigma, qSigma] = read.map((column) => (column?.ok === true ? column.value : undefined));
  if (i!.length !== qs!.length)
    return failure("inconsistent", `${intensity.path} has ${i!.length} values, ${q.path} ${qs!.length}`, {
      file,
      field: q.path,
    });
  const factor = scaling(tree, group, intensity, notes);
  const entry = group.parent ?? tree.root;
  const detector = groupsBelow(entry, hasClass("NXdetector"))[0];
  const metadata = collectMetadata(tree, entry, detector, { width: 1, height: 1, transpose: false });
  const title = metadata.run.title?.value ?? "";
  const name = textAttribute(group.attributes, "name") ?? (title === "" ? group.name : title);
  return success(
    makeCurve({
      name,
      title,
      file,
      path: group.path,
      q: qs!,
      intensity: i!.map((value) => value * factor),
      sigma: sameLength(sigma, i!.length, "sigma", notes)?.map((value) => value * factor),
      qSigma: sameLength(qSigma, i!.length, "resolution", notes),
      qUnit: unitOf(q),
      unit: unitOf(intensity),
      metadata: { ...metadata.run, ...metadata.bank },
      notes,
    }),
  );
}

function numbersOf(tree: Tree, dataset: Hdf5Dataset): Result<Float64Array> {
  const read = tree.file.read(dataset.path);
  return read.ok ? success(Float64Array.from(read.value)) : read;
}

function unitOf(dataset: Hdf5Dataset): string {
  return textAttribute(dataset.attributes, "units") ?? textAttribute(dataset.attributes, "unit") ?? "";
}

function named(
  group: TreeGroup,
  dataset: Hdf5Dataset,
  attribute: string,
  otherwise: string,
  notes: string[],
): Hdf5Dataset | undefined {
  const name = textAttribute(dataset.attributes, attribute);
  const found = name === undefined ? undefined : group.datasets.get(name);
  if (name !== undefined && found === undefined)
    notes.push(`@${attribute} of ${dataset.path} names "${name}", which is not there`);
  return found ?? group.datasets.get(otherwise);
}

function resolution(group: TreeGroup, q: Hdf5Dataset, notes: string[]): Hdf5Dataset | undefined {
  const value = q.attributes.get("resolutions");
  const names = (Array.isArray(value) ? value.map(String) : String(value ?? "").split(/[,\s]+/)).filter(
    (name) => name !== "",
  );
  const kind = textAttribute(q.attributes, "resolutions_description") ?? "Gaussian";
  if (names.length > 1 || kind !== "Gaussian") {
    notes.push(`the resolution (${names.join(", ")}: ${kind}) is not a Gaussian's standard deviation: not used`);
    return undefined;
  }
  return named(group, q, "resolutions", "Qdev", notes);
}

/** The factor for I: `@scaling_factor` names a field that holds it. */
function scaling(tree: Tree, group: TreeGroup, intensity: Hdf5Dataset, notes: string[]): number {
  const name = textAttribute(intensity.attributes, "scaling_factor");
  if (name === undefined) return 1;
  const dataset = group.datasets.get(name);
  const read = dataset === undefined ? undefined : tree.file.read(dataset.path);
  const factor = read?.ok === true && read.value.length === 1 ? read.value[0]! : Number.NaN;
  if (Number.isFinite(factor)) {
    notes.push(`I and its deviation are multiplied by ${name} = ${factor}`);
    return factor;
  }
  notes.push(`@scaling_factor names "${name}", which holds no single number: not applied`);
  return 1;
}

function sameLength(
  values: Float64Array | undefined,
  n: number,
  what: string,
  notes: string[],
): Float64Array | undefined {
  if (values === undefined || values.length === n) return values;
  notes.push(`the ${what} has ${values.length} values for ${n} points: not used`);
  return undefined;
}

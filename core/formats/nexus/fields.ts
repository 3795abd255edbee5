import type { Sourced } from "../../model/metadata.ts";
import { isNumericType } from "../hdf5/decode-values.ts";
import type { Hdf5Dataset } from "../hdf5/hdf5-file.ts";
import { scaleExactly, type UnitKind, unitFactor } from "../units.ts";
import { type Tree, type TreeGroup, textAttribute } from "./tree.ts";

/** Numbers of one field as the file has them. */
export interface Field {
  readonly path: string;
  readonly values: Float64Array;
  readonly unit: string | undefined;
  readonly asWritten: string;
}

/** Longest field that is read as metadata: per-frame values, not detector maps. */
const LONGEST_FIELD = 65_536;

/** Reads a field by name: a dataset of numbers or of a number in text, or an NXlog that stands in for it. */
export function numberField(tree: Tree, group: TreeGroup, name: string): Field | undefined {
  const dataset = group.datasets.get(name);
  if (dataset !== undefined) return fieldOf(tree, dataset);
  const log = group.groups.get(name);
  if (log === undefined || log.nxClass !== "NXlog") return undefined;
  const average = log.datasets.get("average_value") ?? log.datasets.get("value");
  const field = average === undefined ? undefined : fieldOf(tree, average);
  if (field === undefined || field.values.length === 0) return undefined;
  const mean = field.values.reduce((sum, value) => sum + value, 0) / field.values.length;
  return { ...field, values: Float64Array.of(mean) };
}

export function fieldOf(tree: Tree, dataset: Hdf5Dataset): Field | undefined {
  const unit = textAttribute(dataset.attributes, "units") ?? textAttribute(dataset.attributes, "unit");
  const length = dataset.shape.reduce((product, n) => product * n, 1);
  if (length < 1 || length > LONGEST_FIELD) return undefined;
  if (dataset.type === "string") {
    const text = tree.file.readText(dataset.path);
    const value = text.ok && text.value.length === 1 ? Number.parseFloat(text.value[0]!) : Number.NaN;
    // Only a text that is a number altogether: "12 mm" or "2009-09-13" are not.
    if (!Number.isFinite(value) || !text.ok || String(Number(text.value[0])) === "NaN") return undefined;
    return { path: dataset.path, values: Float64Array.of(value), unit, asWritten: `"${text.value[0]}"${tail(unit)}` };
  }
  if (!isNumericType(dataset.type)) return undefined;
  const read = tree.file.read(dataset.path);
  if (!read.ok) {
    tree.notes.push(read.fault.message);
    return undefined;
  }
  const values = Float64Array.from(read.value);
  if (dataset.type === "float32") for (let i = 0; i < values.length; i++) values[i] = decimalOfSingle(values[i]!);
  const shown =
    values.length === 1 ? String(values[0]) : `[${values.slice(0, 3).join(", ")}${values.length > 3 ? ", ..." : ""}]`;
  return { path: dataset.path, values, unit, asWritten: shown + tail(unit) };
}

function tail(unit: string | undefined): string {
  return unit === undefined || unit === "" ? "" : ` ${unit}`;
}

/** The shortest decimal that rounds to a float32: what its writer meant by it. 0.599996, not 0.59999603033. */
export function decimalOfSingle(value: number): number {
  for (let digits = 6; digits < 9; digits++) {
    const decimal = Number(value.toPrecision(digits));
    if (Math.fround(decimal) === value) return decimal;
  }
  return value;
}

export function textField(tree: Tree, group: TreeGroup, name: string): Sourced<string> | undefined {
  const dataset = group.datasets.get(name);
  if (dataset === undefined) return undefined;
  if (dataset.type === "string") {
    const text = tree.file.readText(dataset.path);
    const value = text.ok ? text.value.join("\n").trim() : "";
    return value === "" ? undefined : { value, from: dataset.path };
  }
  const field = fieldOf(tree, dataset);
  return field?.values.length === 1 ? { value: String(field.values[0]), from: field.path } : undefined;
}

/** A value that might be taken, or the reason why it can't be. */
export type Candidate =
  | { readonly taken: true; readonly value: Sourced<number> }
  | { readonly taken: false; readonly shown: Sourced<number | string>; readonly warning?: string };

export interface Wanted {
  readonly kind: UnitKind;
  /** Multiplies the value in the kind's own unit: 1e10 for a length in angstrom. */
  readonly scale?: number;
  readonly range: "positive" | "not-negative" | "any";
  /** What to take where no unit is written; absent: such a value is shown and not taken. */
  readonly bareUnit?: string;
}

const CELSIUS = /^(°\s*c|c|deg_?\s?c|celsius)$/i;

/** A temperature on the Celsius scale moved to kelvin; any other field as it is. */
export function fromCelsius(field: Field | undefined): Field | undefined {
  if (field?.unit === undefined || !CELSIUS.test(field.unit.trim())) return field;
  // By way of hundredths, so that 25 degrees are 298.15 K to the last bit.
  return { ...field, unit: "K", values: field.values.map((value) => (value * 100 + 27_315) / 100) };
}

/** Converts a field of one value, or of one value a frame, by its unit. */
export function convert(field: Field, wanted: Wanted): Candidate {
  const shown = { value: field.values[0]!, from: field.path, asWritten: field.asWritten };
  const first = field.values[0]!;
  const unit = field.unit === undefined || field.unit === "" ? wanted.bareUnit : field.unit;
  const differ = field.values.some((value) => value !== first);
  if (unit === undefined)
    return {
      taken: false,
      shown: { ...shown, note: "no unit: not taken" },
      warning: `${field.path} has no unit and is not taken`,
    };
  const factor = unitFactor(wanted.kind, unit);
  if (factor === undefined)
    return {
      taken: false,
      shown: { value: field.asWritten, from: field.path, note: `unit "${unit}" is not ${article(wanted.kind)}` },
      warning: `${field.path}: unit "${unit}" is not ${article(wanted.kind)}; the value is not taken`,
    };
  const value = scaleExactly(first, factor * (wanted.scale ?? 1));
  const inRange =
    wanted.range === "any" ? Number.isFinite(value) : wanted.range === "positive" ? value > 0 : value >= 0;
  if (!inRange || !Number.isFinite(value))
    return {
      taken: false,
      shown: { ...shown, note: `must be ${wanted.range === "positive" ? "above 0" : "a number of 0 or more"}` },
      warning: `${field.path} is ${field.asWritten}, which can't be: the value is not taken`,
    };
  const note = [
    (field.unit === undefined || field.unit === "") && wanted.kind !== "count" ? `no unit: taken as ${unit}` : "",
    differ ? `one of ${field.values.length} values that differ; the first is taken` : "",
  ].filter((part) => part !== "");
  return {
    taken: true,
    value: {
      value,
      from: field.path,
      asWritten: field.asWritten,
      ...(differ && { guessed: true }),
      ...(note.length > 0 && { note: note.join("; ") }),
    },
  };
}

function article(kind: UnitKind): string {
  return {
    length: "a length",
    time: "a time",
    angle: "an angle",
    energy: "an energy",
    pixel: "pixels",
    count: "a count",
    temperature: "a temperature",
    magneticField: "a magnetic field",
    inverseLength: "an inverse length",
  }[kind];
}

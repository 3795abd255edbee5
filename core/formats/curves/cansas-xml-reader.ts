import type { RunMetadata, Sourced } from "../../model/metadata.ts";
import { failure, type Result, success } from "../../model/result.ts";
import { scaleExactly, type UnitKind, unitFactor } from "../units.ts";
import { type LoadedCurve, makeCurve } from "./loaded-curve.ts";
import { walkXml, type XmlElement } from "./xml-walk.ts";

const NAMESPACES = ["urn:cansas1d:1.1", "cansas1d/1.0"];

/** Columns of one SASdata; a point that lacks one has NaN in it. */
class DataColumns {
  readonly name: string;
  readonly units: Record<string, string> = {};
  readonly notes: string[] = [];
  readonly #columns = new Map<string, number[]>();
  #points = 0;

  constructor(name: string) {
    this.name = name;
  }

  startPoint(): void {
    this.#points++;
  }

  set(column: string, text: string, unit: string | undefined): void {
    const values = this.#columns.get(column) ?? [];
    this.#columns.set(column, values);
    while (values.length < this.#points - 1) values.push(Number.NaN);
    values[this.#points - 1] = xmlNumber(text);
    if (unit === undefined) return;
    const known = this.units[column];
    if (known === undefined) this.units[column] = unit;
    else if (known !== unit && this.notes.length < 5)
      this.notes.push(`${column} changes its unit from "${known}" to "${unit}" at point ${this.#points - 1}`);
  }

  column(name: string): number[] | undefined {
    const values = this.#columns.get(name);
    if (values === undefined) return undefined;
    while (values.length < this.#points) values.push(Number.NaN);
    return values;
  }

  get names(): string[] {
    return [...this.#columns.keys()];
  }
}

/** A number of XML Schema: INF and NaN are allowed there, and are no value here. */
function xmlNumber(text: string): number {
  const trimmed = text.trim();
  return /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/.test(trimmed) ? Number(trimmed) : Number.NaN;
}

interface Entry {
  readonly name: string;
  title: string;
  run: string;
  readonly data: DataColumns[];
  readonly metadata: Record<string, Sourced<number | string>>;
}

const MAIN_COLUMNS = ["Q", "I", "Idev", "Qdev"];

/** Elements whose text becomes metadata, by the elements above them; with their kind where they are lengths. */
const VALUES: Readonly<Record<string, readonly [key: string, kind: UnitKind | "text" | "ratio", scale?: number]>> = {
  "SASsample/ID": ["sampleName", "text"],
  "SASsample/thickness": ["thickness", "length"],
  "SASsample/transmission": ["transmission", "ratio"],
  "SASinstrument/name": ["instrument", "text"],
  "SASsource/wavelength": ["wavelength", "length", 1e10],
  "SASsource/wavelength_spread": ["wavelengthSpread", "ratio"],
  "SASdetector/SDD": ["distance", "length"],
  "SAScollimation/length": ["collimation", "length"],
};

/**
 * Every SASdata of a canSAS1D document, versions 1.0 and 1.1. Elements are known by their local names in the root's own
 * namespace; those of other namespaces are passed over. @see canSAS 1D format, version 1.1
 */
export function readCansasXml(text: string, file: string): Result<LoadedCurve[]> {
  const entries: Entry[] = [];
  const notes: string[] = [];
  const path: string[] = [];
  let root: XmlElement | undefined;
  let foreign = 0;
  const walked = walkXml(text, file, {
    open(element, depth) {
      path.push(element.name);
      if (depth === 0) {
        root = element;
        return;
      }
      if (foreign > 0 || element.namespace !== root!.namespace) {
        foreign++;
        return;
      }
      const entry = entries.at(-1);
      if (element.name === "SASentry" && depth === 1)
        entries.push({ name: element.attributes["name"] ?? "", title: "", run: "", data: [], metadata: {} });
      else if (element.name === "SASdata" && depth === 2)
        entry?.data.push(new DataColumns(element.attributes["name"] ?? ""));
      else if (element.name === "Idata" && depth === 3) entry?.data.at(-1)?.startPoint();
    },
    close(element, inside, depth) {
      path.pop();
      if (foreign > 0) {
        foreign--;
        return;
      }
      const entry = entries.at(-1);
      if (entry === undefined) return;
      const parent = path.at(-1) ?? "";
      if (depth === 4 && parent === "Idata") entry.data.at(-1)?.set(element.name, inside, element.attributes["unit"]);
      else if (depth === 2 && element.name === "Title") entry.title = inside.trim();
      else if (depth === 2 && element.name === "Run" && entry.run === "") entry.run = inside.trim();
      else addValue(entry, `${parent}/${element.name}`, inside.trim(), element.attributes["unit"], notes);
    },
  });
  if (!walked.ok) return walked;
  if (root?.name !== "SASroot")
    return failure("unsupported", `${file}: the root element is ${root?.name ?? "missing"}, not SASroot of canSAS1D`, {
      file,
    });
  if (!NAMESPACES.includes(root.namespace))
    notes.push(`the namespace "${root.namespace}" is none of canSAS1D's; read by its element names`);
  const curves = entries.flatMap((entry, index) =>
    entry.data.map((data, i) => curveOf(entry, index, data, i, file, notes)),
  );
  const usable = curves.filter((curve) => curve.q.length > 0);
  if (usable.length === 0) return failure("missing", `${file} holds no SASdata with points`, { file });
  return success(usable);
}

function addValue(entry: Entry, place: string, text: string, unit: string | undefined, notes: string[]): void {
  const wanted = Object.hasOwn(VALUES, place) ? VALUES[place] : undefined;
  if (wanted === undefined || text === "" || entry.metadata[wanted[0]] !== undefined) return;
  const [key, kind, scale = 1] = wanted;
  const asWritten = unit === undefined ? text : `${text} ${unit}`;
  if (kind === "text") {
    entry.metadata[key] = { value: text, from: place };
    return;
  }
  const factor = kind === "ratio" ? (unit === "percent" || unit === "%" ? 0.01 : 1) : unitFactor(kind, unit ?? "");
  const value = factor === undefined ? Number.NaN : scaleExactly(xmlNumber(text), factor * scale);
  if (value > 0) entry.metadata[key] = { value, from: place, asWritten };
  else notes.push(`${place} is "${asWritten}" and is not taken`);
}

function curveOf(
  entry: Entry,
  index: number,
  data: DataColumns,
  i: number,
  file: string,
  notes: readonly string[],
): LoadedCurve {
  const path = `SASentry ${index + 1}, SASdata ${i + 1}`;
  const own = [...data.notes];
  if (data.units["Idev"] !== undefined && data.units["Idev"] !== data.units["I"])
    own.push(`Idev has the unit "${data.units["Idev"]}", I "${data.units["I"]}"`);
  if (data.names.includes("dQw") || data.names.includes("dQl"))
    own.push("dQw and dQl describe a slit: kept, not used as a deviation of Q");
  const extra = data.names
    .filter((name) => !MAIN_COLUMNS.includes(name))
    .map((name) => [name, Float64Array.from(data.column(name)!)] as const);
  return makeCurve({
    name: data.name || entry.name || entry.title || file,
    title: entry.title,
    file,
    path,
    q: data.column("Q") ?? [],
    intensity: data.column("I") ?? [],
    sigma: data.column("Idev"),
    qSigma: data.column("Qdev"),
    qUnit: data.units["Q"] ?? "",
    unit: data.units["I"] ?? "",
    extra: Object.fromEntries(extra),
    metadata: {
      ...(entry.metadata as RunMetadata),
      ...(entry.title !== "" && { title: { value: entry.title, from: "Title" } }),
      ...(entry.run !== "" && { runNumber: { value: entry.run, from: "Run" } }),
    },
    notes: [...notes, ...own],
  });
}

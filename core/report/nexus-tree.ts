import type { Hdf5AttributeValue, Hdf5TreeDataset, Hdf5TreeGroup } from "../formats/hdf5/write-tree.ts";

/** Shapes of a NeXus tree that every NXcanSAS group is made of. */
type Children = Hdf5TreeGroup["children"];
type Attributes = Readonly<Record<string, Hdf5AttributeValue>>;

/** A group with its NeXus class and, where canSAS knows it, its canSAS class. */
export function nexusGroup(
  classes: readonly [string, string?],
  children: Children,
  attributes: Attributes = {},
): Hdf5TreeGroup {
  const [nexusClass, cansasClass] = classes;
  return {
    kind: "group",
    attributes: {
      NX_class: nexusClass,
      ...(cansasClass === undefined ? {} : { canSAS_class: cansasClass }),
      ...attributes,
    },
    children,
  };
}

export function textField(data: string): Hdf5TreeDataset {
  return { kind: "dataset", data };
}

/** One number as float64. `units` undefined only where the definition says that there are none. */
export function numberField(value: number, units?: string): Hdf5TreeDataset {
  return {
    kind: "dataset",
    data: Float64Array.of(value),
    ...(units === undefined ? {} : { attributes: { units } }),
  };
}

/** Fields of those numbers that are known. */
export function knownFields(
  fields: Readonly<Record<string, readonly [value: number | undefined, units?: string]>>,
): Record<string, Hdf5TreeDataset> {
  const known: Record<string, Hdf5TreeDataset> = {};
  for (const [name, [value, units]] of Object.entries(fields)) {
    if (value !== undefined && Number.isFinite(value)) known[name] = numberField(value, units);
  }
  return known;
}

export function arrayField(
  data: Float64Array | Uint8Array | Uint16Array,
  attributes: Attributes,
  shape?: readonly number[],
): Hdf5TreeDataset {
  return { kind: "dataset", data, attributes, ...(shape === undefined ? {} : { shape }) };
}

/** An array that packs well: counts over a norm, flags. The digits of maps such as Q don't, and packing takes long. */
export function packedField(
  data: Float64Array | Uint8Array | Uint16Array,
  attributes: Attributes,
  shape: readonly number[],
): Hdf5TreeDataset {
  return { kind: "dataset", data, attributes, shape, deflate: 4 };
}

/**
 * A name that NeXus allows: letters, digits, "_" and "." inside, at most 63 characters.
 * @see https://manual.nexusformat.org/datarules.html
 */
export function nexusName(text: string): string {
  const plain = text
    .replace(/[^a-zA-Z0-9_.]/g, "_")
    .slice(0, 63)
    .replace(/^\.+|\.+$/g, "");
  return plain === "" ? "_" : plain;
}

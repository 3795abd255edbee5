import { failure, type Result, success } from "../../model/result.ts";
import type { Hdf5Attribute, Hdf5Dataset, Hdf5File, Hdf5Group } from "../hdf5/hdf5-file.ts";
import { LIMITS } from "../limits.ts";

/** A group of the file with what hangs in it; linked items appear in every group that links them. */
export interface TreeGroup {
  readonly path: string;
  readonly name: string;
  /** Attribute NX_class, or "" where there is none. */
  readonly nxClass: string;
  readonly attributes: ReadonlyMap<string, Hdf5Attribute>;
  readonly address: string;
  readonly datasets: Map<string, Hdf5Dataset>;
  readonly groups: Map<string, TreeGroup>;
  readonly parent: TreeGroup | undefined;
}

export interface Tree {
  readonly file: Hdf5File;
  readonly root: TreeGroup;
  /** Each group once, parents before children, shallow before deep. */
  readonly groups: readonly TreeGroup[];
  /** Each dataset once, by address, at the path it was met first. */
  readonly datasets: ReadonlyMap<string, Hdf5Dataset>;
  /** Links that lead nowhere and items that could not be read. */
  readonly notes: string[];
}

/** Lists the whole file by breadth, each object once however many links lead to it, within the limits of size and depth. */
export function readTree(file: Hdf5File): Result<Tree> {
  const start = file.node("/");
  if (!start.ok) return start;
  if (start.value.kind !== "group")
    return failure("inconsistent", `${file.name} has no root group`, { file: file.name });
  const root = treeGroup(start.value, undefined, "");
  const seen = new Map<string, TreeGroup>([[root.address, root]]);
  const datasets = new Map<string, Hdf5Dataset>();
  const groups = [root];
  const notes: string[] = [];
  let queue: { group: TreeGroup; children: readonly string[] }[] = [{ group: root, children: start.value.children }];
  let objects = 1;
  let work = 0;
  for (let depth = 1; queue.length > 0; depth++) {
    if (depth > LIMITS.hdf5Depth) {
      notes.push(
        `nested deeper than ${LIMITS.hdf5Depth} groups at ${queue[0]!.group.path}: what lies below is not listed`,
      );
      break;
    }
    const next: typeof queue = [];
    for (const { group, children } of queue) {
      for (const name of children) {
        work += 4 + depth * depth;
        if (++objects > LIMITS.hdf5Objects || work > LIMITS.hdf5Work) {
          notes.push(`only the first ${objects} items of the file are listed`);
          return success({ file, root, groups, datasets, notes });
        }
        const path = group.path === "/" ? `/${name}` : `${group.path}/${name}`;
        const node = file.node(path);
        if (!node.ok) {
          notes.push(node.fault.message);
        } else if (node.value.kind === "dataset") {
          group.datasets.set(name, node.value);
          if (!datasets.has(node.value.address)) datasets.set(node.value.address, node.value);
        } else {
          const known = seen.get(node.value.address);
          const child = known ?? treeGroup(node.value, group, name);
          group.groups.set(name, child);
          if (known !== undefined) continue;
          seen.set(child.address, child);
          groups.push(child);
          next.push({ group: child, children: node.value.children });
        }
      }
    }
    queue = next;
  }
  return success({ file, root, groups, datasets, notes });
}

function treeGroup(node: Hdf5Group, parent: TreeGroup | undefined, name: string): TreeGroup {
  return {
    path: node.path,
    name,
    nxClass: textAttribute(node.attributes, "NX_class") ?? "",
    attributes: node.attributes,
    address: node.address,
    datasets: new Map(),
    groups: new Map(),
    parent,
  };
}

/** A text attribute; an array of texts gives its first. Numbers as text. */
export function textAttribute(attributes: ReadonlyMap<string, Hdf5Attribute>, name: string): string | undefined {
  const value = attributes.get(name);
  const first = Array.isArray(value) ? value[0] : value;
  return first === undefined ? undefined : String(first).trim();
}

/** True for 1, "1" and true, however a writer put it. */
export function isSet(attributes: ReadonlyMap<string, Hdf5Attribute>, name: string): boolean {
  return textAttribute(attributes, name) === "1";
}

/** All groups below `group` (and itself), each once, that pass. */
export function groupsBelow(group: TreeGroup, accept: (candidate: TreeGroup) => boolean): TreeGroup[] {
  const found: TreeGroup[] = [];
  const seen = new Set<string>();
  let level = [group];
  while (level.length > 0) {
    const next: TreeGroup[] = [];
    for (const candidate of level) {
      if (seen.has(candidate.address)) continue;
      seen.add(candidate.address);
      if (accept(candidate)) found.push(candidate);
      next.push(...candidate.groups.values());
    }
    level = next;
  }
  return found;
}

export function hasClass(...names: readonly string[]): (group: TreeGroup) => boolean {
  return (group) => names.includes(group.nxClass);
}

import type { FileToken } from "../../core/host-contract.ts";

/** Where the bytes of a file come from. */
export type FileOrigin =
  | { readonly kind: "host"; readonly token: FileToken }
  /** Dropped on the window: the `File` itself waits in the worker's care under this key. */
  | { readonly kind: "dropped"; readonly key: string }
  /** The bytes themselves, in base64: a small dropped file that a browser would have no way back to. */
  | { readonly kind: "inline"; readonly base64: string }
  /** Named by a plan or by an earlier session, but not to be had now. */
  | { readonly kind: "lost"; readonly reason: string };

/** A file that the document knows, with or without a role in the plan. */
export interface PlanFile {
  /** As the plan names it. */
  readonly path: string;
  /** Bare file name, for people. */
  readonly name: string;
  /** Path as the person knows it. */
  readonly label: string;
  /** Bytes. */
  readonly size: number;
  readonly origin: FileOrigin;
  /** Absent: a run, or a mask. */
  readonly holds?: "curves";
}

export type PlanFiles = Readonly<Record<string, PlanFile>>;

/** Name of the file itself: what follows the last "/" or "\". */
export function baseName(path: string): string {
  return path.slice(Math.max(path.lastIndexOf("/"), path.lastIndexOf("\\")) + 1);
}

/** A name that `files` doesn't use yet: "a.h5", then "a (2).h5". */
export function freePath(name: string, files: PlanFiles): string {
  if (!(name in files)) return name;
  const dot = name.lastIndexOf(".");
  const [stem, ending] = dot > 0 ? [name.slice(0, dot), name.slice(dot)] : [name, ""];
  let count = 2;
  while (`${stem} (${count})${ending}` in files) count++;
  return `${stem} (${count})${ending}`;
}

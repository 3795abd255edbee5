import { failure, type Result, success } from "../../model/result.ts";
import { callModule, type H5wasmModule, Hdf5Failure } from "./h5wasm-module.ts";

/** Steps through soft links before they are taken for a loop. */
const SOFT_LINK_LIMIT = 32;
const DEPTH_LIMIT = 64;

/** "/a//b/" to ["a", "b"]; "." and ".." are not special in HDF5 paths but for ".". */
function components(path: string): string[] {
  return path.split("/").filter((part) => part !== "" && part !== ".");
}

/** Where an object is: an open file, and the object's own path in it. */
export interface Hdf5Place {
  readonly file: bigint;
  readonly path: string;
}

export interface LinkWays {
  readonly root: bigint;
  /** Groups that were resolved before, since a listing asks for child after child of the same group. */
  readonly groups: Map<string, Hdf5Place>;
  /** Opens a file that a link in `from` names, or says why not. */
  openBeside(from: bigint, fileName: string): Result<bigint>;
}

/**
 * The place of the object itself, every soft and external link on the way replaced by where it leads. HDF5 would follow
 * an external link by itself and open whatever file it names; resolving here, one component at a time, means that it
 * never gets to.
 */
export function resolveLinks(module: H5wasmModule, path: string, ways: LinkWays): Result<Hdf5Place> {
  const { groups } = ways;
  const parent = path.slice(0, path.lastIndexOf("/"));
  const known = groups.get(parent);
  let pending = components(known === undefined ? path : path.slice(parent.length));
  let resolved = known?.path ?? "";
  let file = known?.file ?? ways.root;
  let steps = 0;
  while (pending.length > 0) {
    const [name, ...rest] = pending;
    const here = `${resolved}/${name}`;
    if (components(here).length > DEPTH_LIMIT)
      return failure("unsupported", `${path} is nested deeper than ${DEPTH_LIMIT} groups`, { field: path });
    const link = linkAt(module, file, here);
    if (link === "missing") return failure("missing", `${here} is not in the file`, { field: path });
    if (link === "hard") {
      resolved = here;
      pending = rest;
      if (rest.length === 1 && steps === 0) groups.set(parent, { file, path: here });
      continue;
    }
    if (++steps > SOFT_LINK_LIMIT)
      return failure("inconsistent", `${path}: links run in a loop at ${here}`, { field: path });
    pending = [...components(link.target), ...rest];
    if ("filename" in link) {
      const beside = ways.openBeside(file, link.filename);
      if (!beside.ok)
        return failure(
          beside.fault.code,
          `${here} leads to another file ("${link.filename}", ${link.target}): ${beside.fault.message}`,
          { field: path },
        );
      file = beside.value;
      resolved = "";
    } else if (link.target.startsWith("/")) resolved = "";
  }
  return success({ file, path: resolved === "" ? "/" : resolved });
}

type Link = "missing" | "hard" | { readonly target: string } | { readonly target: string; readonly filename: string };

function linkAt(module: H5wasmModule, file: bigint, path: string): Link {
  try {
    const external = callModule(module, () => module.get_external_link(file, path));
    if (external.filename !== undefined) return { filename: external.filename, target: external.obj_path ?? "/" };
    const soft = callModule(module, () => module.get_symbolic_link(file, path));
    return soft === null ? "hard" : { target: soft };
  } catch (error) {
    if (error instanceof Hdf5Failure) return "missing";
    throw error;
  }
}

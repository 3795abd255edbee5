import { basename, extname } from "node:path";

/** A folder name for each file: its own without the extension, numbered where two would share one. */
export function uniqueFolders(files: readonly string[]): readonly { readonly file: string; readonly folder: string }[] {
  const taken = new Set<string>();
  return files.map((file) => {
    const name = basename(file, extname(file));
    let folder = name;
    // Some disks don't tell capitals apart.
    for (let n = 2; taken.has(folder.toLowerCase()); n++) folder = `${name}-${n}`;
    taken.add(folder.toLowerCase());
    return { file, folder };
  });
}

import { resolve } from "node:path";

/**
 * The files that a start names. Electron and Chromium put options of their own among the arguments, so only what
 * follows "--" counts, or, in a packaged program, what does not look like an option (a file association gives a bare path).
 *
 * @param argv   as the process got it
 * @param folder that relative names start from
 */
export function namedFiles(argv: readonly string[], folder: string, isPackaged: boolean): readonly string[] {
  const mark = argv.indexOf("--");
  const names =
    mark >= 0 ? argv.slice(mark + 1) : isPackaged ? argv.slice(1).filter((arg) => !arg.startsWith("-")) : [];
  return names.map((name) => resolve(folder, name));
}

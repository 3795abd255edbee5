import { isAbsolute, relative, sep } from "node:path";

/** Whether `path` is `folder` or lies in it. Both must be real paths: links resolved. */
export function isInside(folder: string, path: string): boolean {
  const way = relative(folder, path);
  return way === "" || (way !== ".." && !way.startsWith(`..${sep}`) && !isAbsolute(way));
}

// Windows gives these names to devices, in any folder and with any extension.
const DEVICE_NAMES = /^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i;
/** Characters that some file system does not take, or that mean something in a path. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what it keeps out
const FORBIDDEN_CHARACTERS = /[\u0000-\u001f<>:"/\\|?*\u007f]/;
const LONGEST_NAME = 200;

/** Whether a name that the window proposes can be the name of one file or folder, on every system. */
export function isPlainName(name: string): boolean {
  return (
    name.length > 0 &&
    name.length <= LONGEST_NAME &&
    !FORBIDDEN_CHARACTERS.test(name) &&
    !DEVICE_NAMES.test(name) &&
    !/[. ]$/.test(name) &&
    !/^\s|^\.\.?$/.test(name)
  );
}

/** A relative path with "/" between plain names. */
export function isPlainPath(path: string): boolean {
  return path.split("/").every(isPlainName);
}

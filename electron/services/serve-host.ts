import type { ExportFile, FileToken, HostContract } from "../../core/host-contract.ts";

/** One check a method turns what arrived into arguments, or refuses it: the window is not trusted. */
export type ArgumentChecks = {
  readonly [M in keyof HostContract]: (args: readonly unknown[]) => Parameters<HostContract[M]> | undefined;
};

const LONGEST_TOKEN = 64;
const LONGEST_PATH = 4096;
const LONGEST_NAME = 255;
/** A frame of 8192 x 8192 float64 pixels in one piece; readers ask for less. */
const LONGEST_READ = 512 * 1024 * 1024;
const LONGEST_SESSION = 64 * 1024 * 1024;
const LONGEST_NOTE = 16 * 1024;
const MOST_EXPORT_FILES = 10_000;
const PICK_KINDS = ["run", "mask", "plan", "curve"] as const;

export const ARGUMENT_CHECKS: ArgumentChecks = {
  info: (args) => (args.length === 0 ? [] : undefined),
  launchRequest: (args) => (args.length === 0 ? [] : undefined),
  pickFiles([kind, ...rest]) {
    const known = PICK_KINDS.find((one) => one === kind);
    return known !== undefined && rest.length === 0 ? [known] : undefined;
  },
  resolveBeside: ([token, path, ...rest]) =>
    isToken(token) && isText(path, LONGEST_PATH) && !path.includes("\0") && path !== "" && rest.length === 0
      ? [token, path]
      : undefined,
  readBytes: ([token, start, end, ...rest]) =>
    isToken(token) && isIndex(start) && isIndex(end) && start <= end && end - start <= LONGEST_READ && rest.length === 0
      ? [token, start, end]
      : undefined,
  saveExport: ([name, files, ...rest]) =>
    isText(name, LONGEST_NAME) &&
    Array.isArray(files) &&
    files.length <= MOST_EXPORT_FILES &&
    files.every(isExportFile) &&
    rest.length === 0
      ? [name, files]
      : undefined,
  watchFolder: ([folder, ...rest]) =>
    (folder === undefined || (isText(folder, LONGEST_PATH) && !folder.includes("\0"))) && rest.length === 0
      ? [folder]
      : undefined,
  lastWatch: (args) => (args.length === 0 ? [] : undefined),
  resumeWatch: (args) => (args.length === 0 ? [] : undefined),
  noteFrame: ([watch, name, note, ...rest]) =>
    isToken(watch) && isText(name, LONGEST_NAME) && isText(note, LONGEST_NOTE) && rest.length === 0
      ? [watch, name, note]
      : undefined,
  stopWatching: ([watch, ...rest]) => (isToken(watch) && rest.length === 0 ? [watch] : undefined),
  loadSession: ([window, ...rest]) => (isToken(window) && rest.length === 0 ? [window] : undefined),
  saveSession: ([window, json, ...rest]) =>
    isToken(window) && isText(json, LONGEST_SESSION) && rest.length === 0 ? [window, json] : undefined,
};

export type CallOutcome =
  | { readonly kind: "answer"; readonly value: unknown }
  | { readonly kind: "unknown method" }
  | { readonly kind: "wrong arguments" };

/** Calls a method of the contract by the name and arguments that the window sent. */
export async function callHost(host: HostContract, method: string, args: unknown): Promise<CallOutcome> {
  if (!isMethod(method)) return { kind: "unknown method" };
  return callMethod(host, method, Array.isArray(args) ? (args as readonly unknown[]) : undefined);
}

async function callMethod<M extends keyof HostContract>(
  host: HostContract,
  method: M,
  args: readonly unknown[] | undefined,
): Promise<CallOutcome> {
  const checked = args === undefined ? undefined : ARGUMENT_CHECKS[method](args);
  if (checked === undefined) return { kind: "wrong arguments" };
  const call = host[method] as (...checkedArgs: Parameters<HostContract[M]>) => Promise<unknown>;
  return { kind: "answer", value: await call(...checked) };
}

function isMethod(name: string): name is keyof HostContract {
  // Own keys only: "constructor" and "__proto__" are no methods.
  return Object.hasOwn(ARGUMENT_CHECKS, name);
}

function isText(value: unknown, longest: number): value is string {
  return typeof value === "string" && value.length <= longest;
}

function isToken(value: unknown): value is FileToken {
  return isText(value, LONGEST_TOKEN) && /^[\w-]+$/.test(value);
}

function isIndex(value: unknown): value is number {
  return typeof value === "number" && Number.isSafeInteger(value) && value >= 0;
}

function isExportFile(value: unknown): value is ExportFile {
  if (typeof value !== "object" || value === null) return false;
  const { path, bytes } = value as Readonly<Record<string, unknown>>;
  return isText(path, LONGEST_PATH) && bytes instanceof Uint8Array && bytes.buffer instanceof ArrayBuffer;
}

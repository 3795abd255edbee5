import type { Result } from "./model/result.ts";

/** An opaque name for a file that the person picked, dropped or named on the command line. Never a path. */
export type FileToken = string & { readonly __fileToken: true };

export interface HostFile {
  readonly token: FileToken;
  /** Bare file name, for people. */
  readonly name: string;
  /** Path as the person knows it, for tooltips and for plans; relative to the start folder where possible. */
  readonly label: string;
  readonly size: number;
}

/** What the window was asked to open when it was started: files of the command line, or the sample experiment. */
export interface LaunchRequest {
  readonly files: readonly HostFile[];
  /** A plan among `files` to open first. */
  readonly plan?: FileToken;
  readonly isSampleExperiment: boolean;
}

export interface ExportFile {
  /** Relative, with "/" between folders: "curves/radial.csv". */
  readonly path: string;
  readonly bytes: Uint8Array<ArrayBuffer>;
}

/** A folder that the host watches for a window. */
export interface FolderWatch {
  /** Names the watch in calls and events. */
  readonly id: string;
  /** Path as the person knows it. */
  readonly label: string;
  /** What the window noted of the frames of this watch before, oldest first; none where it begins anew. */
  readonly earlier: readonly string[];
}

/** The watch that was on when the program ended, or that was ended last. */
export interface LastWatch {
  readonly label: string;
  /** How many frames it had. */
  readonly frames: number;
}

/** What the host keeps for a window. */
export interface KeptSession {
  /** Undefined: the session begins. */
  readonly json: string | undefined;
  /** It begins because other windows hold the sessions there are. */
  readonly isBesideAnother: boolean;
}

export interface HostInfo {
  readonly kind: "electron" | "browser";
  readonly version: string;
  readonly platform: string;
}

/**
 * All that the window may ask of the machine. Two hosts implement it: Electron's preload and the local browser host.
 * Arguments and results are plain data and typed arrays.
 */
export interface HostContract {
  info(): Promise<Result<HostInfo>>;
  launchRequest(): Promise<Result<LaunchRequest>>;
  /** Opens the host's file dialog where it has one; an empty list: cancelled. `unsupported` where there is none. */
  pickFiles(kind: "run" | "mask" | "plan" | "curve"): Promise<Result<readonly HostFile[]>>;
  /** Files beside a picked one, by path relative to it: what a plan names. */
  resolveBeside(file: FileToken, relativePath: string): Promise<Result<HostFile>>;
  /** Bytes start <= i < end of a file. */
  readBytes(file: FileToken, start: number, end: number): Promise<Result<Uint8Array<ArrayBuffer>>>;
  /** Saves files into a folder that the person picks (one file: a file name). Atomic. Returns where they went. */
  saveExport(suggestedName: string, files: readonly ExportFile[]): Promise<Result<{ readonly savedTo: string }>>;
  /**
   * Watches a folder: each frame file in it that is complete, and each that comes, is told by `frameArrived`, in the
   * order in which they were written. `folder` lies in the host's start folder; undefined: the person picks one in the
   * host's dialog (`unsupported` where there is none).
   */
  watchFolder(folder: string | undefined): Promise<Result<FolderWatch>>;
  /** The watch that `resumeWatch` would go on with; undefined: there is none. */
  lastWatch(): Promise<Result<LastWatch | undefined>>;
  /** Goes on with the last watch: frames that were noted are not told again, unless they have changed. */
  resumeWatch(): Promise<Result<FolderWatch>>;
  /** Notes that the window is through with a frame of a watch; on the disk when it resolves. */
  noteFrame(watch: string, name: string, note: string): Promise<Result<undefined>>;
  /** Ends a watch; one that has ended already is no fault. */
  stopWatching(watch: string): Promise<Result<undefined>>;
  /**
   * The session is one JSON text, kept by the host and written atomically. It belongs to one live window, which is named
   * by an id of its own for each load of the page; when the window is gone, the next one takes the newest that is free.
   */
  loadSession(window: string): Promise<Result<KeptSession>>;
  saveSession(window: string, json: string): Promise<Result<undefined>>;
}

export const HOST_METHODS = [
  "info",
  "launchRequest",
  "pickFiles",
  "resolveBeside",
  "readBytes",
  "saveExport",
  "watchFolder",
  "lastWatch",
  "resumeWatch",
  "noteFrame",
  "stopWatching",
  "loadSession",
  "saveSession",
] as const satisfies readonly (keyof HostContract)[];

type Missing = Exclude<keyof HostContract, (typeof HOST_METHODS)[number]>;
/** Fails to compile when a method is missing from the list. */
export const everyMethodIsListed: Missing extends never ? true : Missing = true;

/** What a host tells the window unasked. */
export interface HostEvents {
  /** The person opened files outside the window: a second start, a file association. */
  readonly filesOpened: readonly HostFile[];
  /** A frame of a watched folder is complete. `isReplacement`: a file of that name was told before. */
  readonly frameArrived: { readonly watch: string; readonly file: HostFile; readonly isReplacement: boolean };
  /** A watched folder can't be read at the moment, and why; null: it can again. */
  readonly watchTrouble: { readonly watch: string; readonly message: string | null };
}

export const HOST_EVENTS = [
  "filesOpened",
  "frameArrived",
  "watchTrouble",
] as const satisfies readonly (keyof HostEvents)[];
type MissingEvent = Exclude<keyof HostEvents, (typeof HOST_EVENTS)[number]>;
/** Fails to compile when an event is missing from the list. */
export const everyEventIsListed: MissingEvent extends never ? true : MissingEvent = true;

/** The contract as the window holds it: the methods, and a way to hear the events. The answer ends the subscription. */
export interface WindowHost extends HostContract {
  on<E extends keyof HostEvents>(event: E, listener: (detail: HostEvents[E]) => void): () => void;
}

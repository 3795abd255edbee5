import type { HostEvents, HostInfo } from "../../core/host-contract.ts";

/** How a host tells its windows something. */
export type SendEvent = <E extends keyof HostEvents>(event: E, detail: HostEvents[E]) => void;

export type PickKind = "run" | "mask" | "plan" | "curve";

/** What the services need of the program around them: dialogs and places. Electron's and the browser host's differ. */
export interface Shell {
  readonly info: HostInfo;
  /** Where session and tokens are kept. */
  readonly userDataFolder: string;
  /** Labels of files in it are relative. */
  readonly startFolder: string;
  /** Time between two looks at a watched folder, ms; absent: the usual. */
  readonly pollMs?: number;
  readonly launch: {
    readonly files: readonly string[];
    readonly isSampleExperiment: boolean;
  };
  /** Paths that the person picked; an empty list: cancelled. Absent: this host has no dialogs. */
  readonly pickFiles?: (kind: PickKind) => Promise<readonly string[]>;
  /** A folder that the person picked; undefined: cancelled. Absent: this host has no dialogs. */
  readonly pickFolder?: () => Promise<string | undefined>;
  /**
   * Where an export goes: a file name to write, or the folder in which the export's own folder is made. Undefined:
   * cancelled. `mayReplace`: the person has agreed to write over a file of that name.
   */
  readonly pickExportPlace: (
    suggestedName: string,
    kind: "file" | "folder",
  ) => Promise<{ readonly path: string; readonly mayReplace: boolean } | undefined>;
}

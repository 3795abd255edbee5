import { createStore } from "zustand/vanilla";
import type { LastWatch } from "../../core/host-contract.ts";
import type { PlanFile } from "../state/plan-file.ts";
import type { TrendPoint } from "./trend.ts";
import type { VerdictChange } from "./verdict-change.ts";

export interface WatchState {
  readonly id: string;
  /** The folder, as the person knows it. */
  readonly label: string;
  /** Frames that arrived and still wait to be judged. */
  readonly waiting: number;
  /** Why the folder can't be read at the moment. */
  readonly trouble: string | undefined;
}

export interface BeamStopState {
  /** Undefined: no folder is watched. */
  readonly watch: WatchState | undefined;
  /** A watch of an earlier start that can be gone on with; undefined: there is none, or a folder is watched. */
  readonly resumable: LastWatch | undefined;
  /** The host has no folder dialog: the person writes the folder's name. */
  readonly asksFolder: boolean;
  /** A frame of a watch that is shown in place of the plan's sample; it stays when the watch ends. */
  readonly watched: PlanFile | undefined;
  /** Frames of the watch, or samples of the plan. */
  readonly trend: readonly TrendPoint[];
  readonly change: VerdictChange | undefined;
}

export interface BeamStopStore extends BeamStopState {
  set(change: Partial<BeamStopState>): void;
}

export function createBeamStopStore() {
  return createStore<BeamStopStore>()((set) => ({
    watch: undefined,
    resumable: undefined,
    asksFolder: false,
    watched: undefined,
    trend: [],
    change: undefined,
    set: (change) => set(change),
  }));
}

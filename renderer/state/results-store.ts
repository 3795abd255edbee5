import { createStore } from "zustand/vanilla";
import type { HostFile } from "../../core/host-contract.ts";
import type { Fault } from "../../core/model/result.ts";
import type { ArrayPoint, CurvePoint } from "../view-types.ts";
import type { Answer, FollowView, Progress, ReductionView, RunDescription } from "../worker/protocol.ts";

export type RunState =
  | { readonly status: "reading" }
  | { readonly status: "ready"; readonly run: RunDescription }
  | { readonly status: "fault"; readonly fault: Fault };

/** A sentence for the person, shown until it is put away. */
export interface Notice {
  readonly id: number;
  readonly tone: "fault" | "note";
  readonly text: string;
}

/** What was computed from the document. Large arrays live here, never in the document's tree. */
export interface Results {
  readonly reduction: ReductionView | undefined;
  /** Why the present plan has no reduction. The last one of the same run that succeeded stays on show. */
  readonly fault: Fault | undefined;
  /** Harmonics of the annuli, of the reduction with this serial. */
  readonly anisotropy: Answer<"analyse"> | undefined;
  /** Whether the stop covers the beam; undefined while that is found out. */
  readonly stop: Answer<"assess-stop"> | undefined;
  /** Curves of a drag that is going on. */
  readonly follow: FollowView | undefined;
  /** By the path that the plan names the file with. */
  readonly runs: Readonly<Record<string, RunState>>;
  /** Plans that came with the start: those of the sample experiment. */
  readonly plans: readonly HostFile[];
  /** What the worker is busy with; undefined: nothing. */
  readonly working: Progress | undefined;
  readonly notices: readonly Notice[];
  /** The pixel under the pointer. */
  readonly pixel: ArrayPoint | undefined;
  /** The lit point of a curve: under the pointer, or the bin of the pixel under it. */
  readonly lamp: CurvePoint | undefined;
  /** A point whose explanation stays. */
  readonly pinned: CurvePoint | undefined;
  /** Which bin each pixel belongs to, by the id of the average; of the reduction with this serial. */
  readonly binMaps: { readonly serial: number; readonly maps: Readonly<Record<string, Int32Array>> };
}

export interface ResultsStore extends Results {
  set(change: Partial<Results>): void;
  setRun(path: string, state: RunState): void;
  notify(tone: Notice["tone"], text: string): void;
  dismiss(id: number): void;
}

/** Notices beyond this many push out the oldest. */
const SHOWN_NOTICES = 4;

export function createResultsStore() {
  let nextNotice = 1;
  return createStore<ResultsStore>()((set) => ({
    reduction: undefined,
    fault: undefined,
    follow: undefined,
    anisotropy: undefined,
    stop: undefined,
    runs: {},
    plans: [],
    working: undefined,
    notices: [],
    pixel: undefined,
    lamp: undefined,
    pinned: undefined,
    binMaps: { serial: -1, maps: {} },
    set: (change) => set(change),
    setRun: (path, run) => set((state) => ({ runs: { ...state.runs, [path]: run } })),
    notify: (tone, text) =>
      set((state) => {
        const others = state.notices.filter((notice) => notice.text !== text);
        return { notices: [...others, { id: nextNotice++, tone, text }].slice(-SHOWN_NOTICES) };
      }),
    dismiss: (id) => set((state) => ({ notices: state.notices.filter((notice) => notice.id !== id) })),
  }));
}

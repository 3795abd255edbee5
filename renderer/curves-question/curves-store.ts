import { createStore } from "zustand/vanilla";
import type { ModelChoice } from "../../core/curves/model-choice.ts";
import type { GuinierFit, PorodFit } from "../../core/curves/quick-look.ts";
import type { Measured } from "../../core/model/measured.ts";
import type { DerivedCurve } from "../../core/report/derived-curve.ts";
import type { CurveInterval } from "../view-types.ts";
import type { FileCurve } from "../worker/curve-bench.ts";

/** A curve of a file beside our own. */
export interface LoadedCurve extends FileCurve {
  /** Unique among everything that is drawn. */
  readonly key: string;
  readonly label: string;
  /** Place in the order of colours after our own. */
  readonly colour: number;
  readonly shown: boolean;
}

/** A curve that the document names but that can't be had now. */
export interface MissingCurve {
  readonly key: string;
  readonly label: string;
  readonly reason: string;
}

export type Look = "none" | "guinier" | "porod";
export type LookFit = ({ readonly kind: "guinier" } & GuinierFit) | ({ readonly kind: "porod" } & PorodFit);

export const OPERATIONS = ["merge", "scale", "subtract", "rebin"] as const;
export type Operation = (typeof OPERATIONS)[number];

export interface RebinChoice {
  readonly spacing: "log" | "linear";
  readonly count: number;
}

/** How one curve was brought onto another. */
export interface ShownFit {
  readonly name: string;
  readonly scale: Required<Measured>;
  /** Absent: not fitted. */
  readonly constant?: Required<Measured>;
  readonly reducedChi2: number;
  /** Points that both have in the range. */
  readonly shared: number;
}

/** What was made of curves, until the next is made. */
export interface MadeCurve {
  readonly words: string;
  readonly fits: readonly ShownFit[];
  readonly warnings: readonly string[];
  readonly curve: DerivedCurve;
}

export interface CurvesState {
  /** Follow the document, which has their names. */
  readonly loaded: readonly LoadedCurve[];
  readonly missing: readonly MissingCurve[];
  /** Keys of the curve that is looked at and of the one it is put together with; undefined: the first. */
  readonly one: string | undefined;
  readonly other: string | undefined;
  /** The brushed range, 1/angstrom; undefined: all of the curve. */
  readonly range: CurveInterval | undefined;
  readonly operation: Operation;
  /** Keys of the curves that are merged onto the first; undefined: the one other. */
  readonly merged: readonly string[] | undefined;
  /** Whether merging fits a constant besides the scale. */
  readonly withConstant: boolean;
  /** Times which the other curve is subtracted. */
  readonly factor: number;
  readonly bins: RebinChoice;
  readonly look: Look;
  readonly fit: LookFit | undefined;
  /** Why there is no fit. */
  readonly lookFault: string | undefined;
  readonly model: ModelChoice | undefined;
  readonly modelCurve: { readonly q: Float64Array; readonly intensity: Float64Array } | undefined;
  readonly made: MadeCurve | undefined;
}

export interface CurvesStore extends CurvesState {
  set(change: Partial<CurvesState>): void;
}

export function createCurvesStore() {
  return createStore<CurvesStore>()((set) => ({
    loaded: [],
    missing: [],
    one: undefined,
    other: undefined,
    range: undefined,
    operation: "merge",
    merged: undefined,
    withConstant: false,
    factor: 1,
    bins: { spacing: "log", count: 40 },
    look: "none",
    fit: undefined,
    lookFault: undefined,
    model: undefined,
    modelCurve: undefined,
    made: undefined,
    set: (change) => set(change),
  }));
}

import { createStore } from "zustand/vanilla";
import type { ModelChoice } from "../../core/curves/model-choice.ts";
import type { GuinierFit, PorodFit } from "../../core/curves/quick-look.ts";
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

/** What was made of two curves, until the next is made. */
export interface MadeCurve {
  readonly words: string;
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
    look: "none",
    fit: undefined,
    lookFault: undefined,
    model: undefined,
    modelCurve: undefined,
    made: undefined,
    set: (change) => set(change),
  }));
}

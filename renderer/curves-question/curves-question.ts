import type { StoreApi } from "zustand/vanilla";
import { describeFault, type Fault, type Result } from "../../core/model/result.ts";
import { CURVE_FORMATS, type CurveFormat } from "../../core/report/derived-curve.ts";
import { saveFiles } from "../app/save-files.ts";
import type { CurveTools, ToolAsk, ToolName } from "../worker/curve-bench.ts";
import { BesideFiles, type BesideParts } from "./beside-files.ts";
import { bare, merge, rebin, scale, subtract, type Work } from "./combine.ts";
import { type ChosenCurve, chosenMerged, chosenPair, curveChoices } from "./curve-choices.ts";
import type { CurvesStore, LookFit, MadeCurve, Operation } from "./curves-store.ts";

/** Points of a model over the range of the curves. */
const MODEL_POINTS = 300;

/** Curves of files beside our own, and what is done with them. All is computed by the worker. */
export class CurvesQuestion {
  readonly store: StoreApi<CurvesStore>;
  /** The curves of files. */
  readonly files: BesideFiles;
  readonly #parts: BesideParts;

  constructor(parts: BesideParts) {
    this.store = parts.store;
    this.#parts = parts;
    this.files = new BesideFiles(parts);
  }

  /** Keeps fit and model up with what they are made of. */
  start(): void {
    const { results, store } = this.#parts;
    this.files.start();
    results.subscribe((state, before) => {
      if (state.reduction === before.reduction) return;
      void this.#fit();
      void this.#layModel();
    });
    store.subscribe((state, before) => {
      const watched = ["look", "range", "one", "loaded"] as const;
      if (watched.some((key) => state[key] !== before[key])) void this.#fit();
      if (state.model !== before.model || state.loaded !== before.loaded) void this.#layModel();
    });
  }

  /** Does what is chosen with the curves that are chosen; the result is drawn, and can be saved. */
  async make(): Promise<void> {
    const state = this.store.getState();
    const made = await this.#make(state.operation);
    if (made === undefined) return;
    if (made.ok) state.set({ made: made.value });
    else this.#tell(made.fault);
  }

  async #make(operation: Operation): Promise<Result<MadeCurve> | undefined> {
    const state = this.store.getState();
    const { one, other } = this.#pair();
    if (one === undefined) return undefined;
    const work: Work = (tool, ask) => this.#work(tool, ask);
    const range = this.#range();
    if (operation === "rebin") {
      const ends = state.range === undefined ? {} : range;
      return rebin(work, { curve: one, bins: { ...state.bins, ...ends } });
    }
    if (other === undefined) return undefined;
    switch (operation) {
      case "merge": {
        const { withConstant } = state;
        return merge(work, [one, ...chosenMerged(this.#choices(), state)], { withConstant, range });
      }
      case "scale":
        return scale(work, { curve: other, onto: one, range });
      case "subtract":
        return subtract(work, { curve: one, other, factor: state.factor });
    }
  }

  /** Saves what was made in one of the formats. */
  async save(format: CurveFormat): Promise<void> {
    const { made: product } = this.store.getState();
    if (product === undefined) return;
    const bytes = await this.#work("write", { curve: product.curve, format });
    if (!bytes.ok) return this.#tell(bytes.fault);
    const name = `${product.curve.title.replaceAll(/[^\p{L}\p{N}._-]+/gu, "-")}.${format}`;
    const saved = await saveFiles(this.#parts.host, name, [{ path: name, bytes: bytes.value }]);
    if (saved.ok) this.#parts.results.getState().notify("note", `Saved: ${saved.value.savedTo}`);
    else if (saved.fault.code !== "cancelled") this.#tell(saved.fault);
  }

  #pair() {
    return chosenPair(this.#choices(), this.store.getState());
  }

  #choices(): readonly ChosenCurve[] {
    return curveChoices(this.#parts.results.getState().reduction, this.store.getState());
  }

  #range(): { readonly qMin: number; readonly qMax: number } {
    const { range } = this.store.getState();
    return { qMin: range?.low ?? 0, qMax: range?.high ?? Number.POSITIVE_INFINITY };
  }

  async #fit(): Promise<void> {
    const { look, set } = this.store.getState();
    const { one } = this.#pair();
    if (look === "none" || one === undefined) return set({ fit: undefined, lookFault: undefined });
    const ask = { curve: bare(one.points), ...this.#range() };
    const found: Result<LookFit> =
      look === "guinier"
        ? withKind("guinier", await this.#work("guinier", ask, "look"))
        : withKind("porod", await this.#work("porod", ask, "look"));
    if (found.ok) return set({ fit: found.value, lookFault: undefined });
    if (found.fault.code !== "cancelled") set({ fit: undefined, lookFault: describeFault(found.fault) });
  }

  async #layModel(): Promise<void> {
    const { model, set } = this.store.getState();
    if (model === undefined) return set({ modelCurve: undefined });
    const all = this.#choices();
    const ends = all.map(({ points: { q } }) => [q.find((value) => value > 0) ?? Number.NaN, q.at(-1) ?? Number.NaN]);
    const low = Math.min(...ends.map(([first = Number.NaN]) => first));
    const high = Math.max(...ends.map(([, last = Number.NaN]) => last));
    if (!(low > 0 && high > low)) return set({ modelCurve: undefined });
    const ratio = Math.log(high / low);
    const q = Float64Array.from({ length: MODEL_POINTS }, (_, i) => low * Math.exp((i / (MODEL_POINTS - 1)) * ratio));
    const intensity = await this.#work("model", { model, q }, "model");
    if (intensity.ok) set({ modelCurve: { q, intensity: intensity.value } });
  }

  async #work<T extends ToolName>(
    tool: T,
    ask: CurveTools[T]["ask"],
    slot?: string,
  ): Promise<Result<CurveTools[T]["answer"]>> {
    const question = { tool, ask } as unknown as ToolAsk;
    const answer = await this.#parts.client.ask("work-on-curves", question, slot === undefined ? {} : { slot });
    // The answer to a tool's question is that tool's answer.
    return answer.ok ? { ok: true, value: answer.value.made as CurveTools[T]["answer"] } : answer;
  }

  #tell(fault: Fault): void {
    if (fault.code !== "cancelled") this.#parts.results.getState().notify("fault", describeFault(fault));
  }
}

export const SAVE_FORMATS = CURVE_FORMATS;

function withKind<K extends LookFit["kind"], F>(kind: K, found: Result<F>): Result<{ readonly kind: K } & F> {
  return found.ok ? { ok: true, value: { kind, ...found.value } } : found;
}

import type { StoreApi } from "zustand/vanilla";
import { withSigma } from "../../core/model/numbers.ts";
import { describeFault, type Fault, type Result } from "../../core/model/result.ts";
import { CURVE_FORMATS, type CurveFormat, type DerivedCurve } from "../../core/report/derived-curve.ts";
import { saveFiles } from "../app/save-files.ts";
import type { CurveTools, ToolAsk, ToolName } from "../worker/curve-bench.ts";
import { BesideFiles, type BesideParts } from "./beside-files.ts";
import { type ChosenCurve, chosenPair, curveChoices } from "./curve-choices.ts";
import type { CurvesState, CurvesStore, LookFit } from "./curves-store.ts";

export type Combination = "merge" | "scale" | "subtract";

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

  /** Puts the two chosen curves together; the result is drawn, and can be saved. */
  async combine(how: Combination): Promise<void> {
    const { one, other } = this.#pair();
    if (one === undefined || other === undefined) return;
    const range = this.#range();
    const made = await this.#make(how, one, other, range);
    if (made.ok) this.store.getState().set({ made: made.value });
    else this.#tell(made.fault);
  }

  async #make(
    how: Combination,
    one: ChosenCurve,
    other: ChosenCurve,
    range: { readonly qMin: number; readonly qMax: number },
  ): Promise<Result<NonNullable<CurvesState["made"]>>> {
    switch (how) {
      case "merge": {
        const curves = [one, other].map(({ label, points }) => ({ name: label, points: bare(points) }));
        const merged = await this.#work("merge", { curves, withConstant: false, ...range });
        if (!merged.ok) return merged;
        const { points, fits, steps, warnings } = merged.value;
        const [fit] = fits;
        const words = `${other.label} scaled by ${fit === undefined ? "" : withSigma(fit.scale, fit.scaleSigma)} and joined`;
        return made(`${words}; ${quality(fit)}`, { ...points, steps, warnings }, "merged", [one, other]);
      }
      case "scale": {
        const scaled = await this.#work("scale", { curve: bare(other.points), reference: bare(one.points), ...range });
        if (!scaled.ok) return scaled;
        const { fit, points } = scaled.value;
        const words = `${other.label} onto ${one.label}: factor ${withSigma(fit.value, fit.sigma)}, reduced χ² ${fit.chi2.toPrecision(3)}`;
        const step = entry("scale", { factor: fit.value, factor_sigma: fit.sigma, onto: one.label });
        return made(words, { ...points, steps: [step], warnings: fit.warnings }, "scaled", [other, one]);
      }
      case "subtract": {
        const taken = await this.#work("subtract", { curve: bare(one.points), other: bare(other.points) });
        if (!taken.ok) return taken;
        const { points, leftOut } = taken.value;
        const words = `${one.label} minus ${other.label}${leftOut > 0 ? `; ${leftOut} points beyond its range left out` : ""}`;
        const step = entry("subtract", { subtracted: other.label, factor: 1 });
        return made(words, { ...points, steps: [step], warnings: [] }, "difference", [one, other]);
      }
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
    const state = this.store.getState();
    return chosenPair(curveChoices(this.#parts.results.getState().reduction, state), state);
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
    const all = curveChoices(this.#parts.results.getState().reduction, this.store.getState());
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

/** What a tool needs of a curve, without columns that would cross to the worker for nothing. */
function bare({ q, intensity, sigma, qSigma }: ChosenCurve["points"]): ChosenCurve["points"] {
  return { q, intensity, ...(sigma && { sigma }), ...(qSigma && { qSigma }) };
}

function withKind<K extends LookFit["kind"], F>(kind: K, found: Result<F>): Result<{ readonly kind: K } & F> {
  return found.ok ? { ok: true, value: { kind, ...found.value } } : found;
}

function quality(fit: { readonly chi2: number; readonly degreesOfFreedom: number } | undefined): string {
  return fit === undefined ? "" : `reduced χ² ${(fit.chi2 / fit.degreesOfFreedom).toPrecision(3)}`;
}

function entry(step: string, parameters: Readonly<Record<string, unknown>>): DerivedCurve["steps"][number] {
  return { step, status: "applied", parameters, sources: {}, warnings: [] };
}

function made(
  words: string,
  parts: ChosenCurve["points"] & Pick<DerivedCurve, "steps" | "warnings">,
  what: string,
  from: readonly ChosenCurve[],
): Result<NonNullable<CurvesState["made"]>> {
  const { sigma } = parts;
  if (sigma === undefined)
    return {
      ok: false,
      fault: {
        code: "missing",
        message: `${from.map(({ label }) => label).join(" or ")} has no uncertainties, and the result would have none`,
      },
    };
  return {
    ok: true,
    value: {
      words: [words, ...parts.warnings].join("; "),
      curve: {
        ...parts,
        sigma,
        title: `${from.map(({ label }) => label.replace(/\.[^.]+$/, "")).join(" + ")}, ${what}`,
        unit: from[0]?.unit ?? "not known",
        inputs: from.map(({ file, key, sha256 }) => ({ role: "curve", file, sha256, format: "curve", dataset: key })),
      },
    },
  };
}

import type { StoreApi } from "zustand/vanilla";
import { describeFault, type Result } from "../../core/model/result.ts";
import { besideCurves } from "../curves-question/curve-choices.ts";
import type { CurvesStore } from "../curves-question/curves-store.ts";
import { shownAverages } from "../panels/shown-averages.ts";
import type { DocumentStore } from "../state/document-store.ts";
import type { ResultsStore } from "../state/results-store.ts";
import type { WorkerClient } from "../worker/worker-client.ts";
import { type NamedCurve, tableText } from "./copy-table.ts";

/** Pixels a point of a copied picture: 648 an inch at the width of a printed column. */
const COPY_SCALE = 9;

export type CopiedFigure = "curve" | "frame";

/** Puts curves and figures on the clipboard. It must be called while a key or a button is pressed: browsers ask for that. */
export class Copying {
  readonly #document: StoreApi<DocumentStore>;
  readonly #results: StoreApi<ResultsStore>;
  readonly #curves: StoreApi<CurvesStore>;
  readonly #client: WorkerClient;

  constructor(parts: {
    readonly document: StoreApi<DocumentStore>;
    readonly results: StoreApi<ResultsStore>;
    readonly curves: StoreApi<CurvesStore>;
    readonly client: WorkerClient;
  }) {
    this.#document = parts.document;
    this.#results = parts.results;
    this.#curves = parts.curves;
    this.#client = parts.client;
  }

  /** What the curve's half shows, as a table. */
  async table(): Promise<void> {
    const curves = this.#shownCurves();
    if (curves.length === 0) {
      this.#results.getState().notify("note", "No curve is shown, so there is nothing to copy");
      return;
    }
    const words = curves.length === 1 ? `${curves[0]?.label ?? ""} as a table` : `${curves.length} curves as a table`;
    await this.#put(words, "text/plain", Promise.resolve(new Blob([tableText(curves)], { type: "text/plain" })));
  }

  /** A figure as the report has it: as a picture, or as the text of its SVG. */
  async figure(which: CopiedFigure, as: "png" | "svg"): Promise<void> {
    const name = which === "frame" ? "frame" : this.#curveFigure();
    if (name === undefined) {
      this.#results.getState().notify("note", "No curve is shown, so there is no figure to copy");
      return;
    }
    const drawn = this.#client.ask("draw-figure", { name, scale: as === "png" ? COPY_SCALE : undefined });
    const type = as === "png" ? "image/png" : "text/plain";
    const words = `the figure of the ${which} as ${as === "png" ? "a picture" : "SVG text"}`;
    await this.#put(
      words,
      type,
      drawn.then((answer) => {
        const { svg, png } = kept(answer);
        return new Blob([as === "png" && png !== undefined ? png : svg], { type });
      }),
    );
  }

  #shownCurves(): readonly NamedCurve[] {
    const { reduction } = this.#results.getState();
    const { view } = this.#document.getState();
    const own = shownAverages(reduction, view).map((data) => ({ label: data.id, data }));
    if (view.question !== "curves") return own;
    return [...own, ...besideCurves(this.#curves.getState(), reduction?.unit ?? "", own.length)];
  }

  /** Where several curves are shown, the figure of them all. */
  #curveFigure(): string | undefined {
    const shown = shownAverages(this.#results.getState().reduction, this.#document.getState().view);
    const [first, second] = shown;
    if (first === undefined) return undefined;
    if (first.kind === "annulus") return `profile-${first.id}`;
    return second === undefined ? `curve-${first.id}` : "curves";
  }

  /** The promise goes into the clipboard's item itself, so that the key press still counts when it is kept. */
  async #put(words: string, type: string, content: Promise<Blob>): Promise<void> {
    const { notify } = this.#results.getState();
    try {
      await navigator.clipboard.write([new ClipboardItem({ [type]: content })]);
      notify("note", `Copied: ${words}`);
    } catch (error) {
      const reason = error instanceof Error ? error.message : String(error);
      notify("fault", `Could not copy ${words}: ${reason}. Export saves the same as a file.`);
    }
  }
}

function kept<T>(answer: Result<T>): T {
  if (!answer.ok) throw new Error(describeFault(answer.fault));
  return answer.value;
}

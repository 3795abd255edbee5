import type { StoreApi } from "zustand/vanilla";
import type { ExportFile, HostContract } from "../../core/host-contract.ts";
import { describeFault, type Fault } from "../../core/model/result.ts";
import { outputsOf } from "../../core/plan/defaults.ts";
import type { OutputKind } from "../../core/plan/plan.ts";
import type { BeamStopStore } from "../beam-stop/beam-stop-store.ts";
import { ShownTrees } from "../beam-stop/watched-tree.ts";
import type { DocumentStore } from "../state/document-store.ts";
import { baseName } from "../state/plan-file.ts";
import type { ResultsStore } from "../state/results-store.ts";
import type { WorkerClient } from "../worker/worker-client.ts";
import { saveFiles } from "./save-files.ts";

export interface ExportChoice {
  readonly id: string;
  readonly title: string;
  /** What the worker makes; "all": as the plan says. */
  readonly kinds: readonly OutputKind[] | "all";
  /** Which of the files that come of it are wanted. */
  readonly wants: (path: string) => boolean;
}

const ending = (end: string) => (path: string) => path.endsWith(end);

/** What can be saved from the window. The files are those that the command line writes for the same plan. */
export const EXPORT_CHOICES: readonly ExportChoice[] = [
  { id: "csv", title: "Curves as CSV", kinds: ["csv"], wants: ending(".csv") },
  { id: "columns", title: "Curves as text columns", kinds: ["columns"], wants: ending(".txt") },
  { id: "cansas-xml", title: "Curves as canSAS XML", kinds: ["cansas-xml"], wants: ending(".xml") },
  { id: "nxcansas", title: "Curves and frame as NXcanSAS", kinds: ["nxcansas"], wants: ending(".h5") },
  {
    id: "maps",
    title: "Maps of the frame, and its grid of Qx and Qy",
    kinds: ["maps", "nxcansas"],
    wants: (path) => path.startsWith("maps/"),
  },
  { id: "svg", title: "Figures as SVG", kinds: ["figures"], wants: ending(".svg") },
  { id: "png", title: "Figures as PNG", kinds: ["figures"], wants: ending(".png") },
  { id: "report", title: "Report as HTML", kinds: ["report"], wants: ending(".html") },
  { id: "all", title: "Whole result set", kinds: "all", wants: () => true },
];

/** Makes and saves files of the plan as it stands. */
export class Exporting {
  readonly #host: HostContract;
  readonly #document: StoreApi<DocumentStore>;
  readonly #results: StoreApi<ResultsStore>;
  readonly #client: WorkerClient;
  readonly #beamStop: StoreApi<BeamStopStore>;

  constructor(parts: {
    readonly beamStop: StoreApi<BeamStopStore>;
    readonly host: HostContract;
    readonly document: StoreApi<DocumentStore>;
    readonly results: StoreApi<ResultsStore>;
    readonly client: WorkerClient;
  }) {
    this.#host = parts.host;
    this.#document = parts.document;
    this.#results = parts.results;
    this.#client = parts.client;
    this.#beamStop = parts.beamStop;
  }

  async run(choice: ExportChoice): Promise<void> {
    const { history, view } = this.#document.getState();
    if (history === undefined) return;
    const { watched } = this.#beamStop.getState();
    const { tree, sampleIndex } = new ShownTrees().of(history.present, view, watched);
    const { plan } = tree;
    const results = this.#results.getState();
    const outputs = choice.kinds === "all" ? outputsOf(plan) : choice.kinds;
    results.set({ working: { label: choice.title } });
    const made = await this.#client.ask(
      "export",
      { plan, sampleIndex, outputs },
      { onProgress: (working) => results.set({ working }), slot: "export" },
    );
    results.set({ working: undefined });
    if (!made.ok) {
      this.#tell(made.fault);
      return;
    }
    const files = made.value.files.filter(({ path }) => choice.wants(path));
    if (files.length === 0) results.notify("note", `${choice.title}: this plan makes no such file`);
    else await this.#save(stemOf(made.value.sampleFile), files);
  }

  /** The plan as a file: what the command line runs. */
  async savePlan(): Promise<void> {
    const { history } = this.#document.getState();
    if (history === undefined) return;
    const { plan } = history.present;
    const bytes = new TextEncoder().encode(`${JSON.stringify(plan, null, 2)}\n`);
    const stem = this.#results.getState().reduction?.sampleFile ?? "halation";
    await this.#save(stemOf(stem), [{ path: `${stemOf(stem)}.plan.json`, bytes }]);
  }

  async #save(name: string, files: readonly ExportFile[]): Promise<void> {
    const saved = await saveFiles(this.#host, name, files);
    if (saved.ok) this.#results.getState().notify("note", `Saved: ${saved.value.savedTo}`);
    else this.#tell(saved.fault);
  }

  #tell(fault: Fault): void {
    if (fault.code !== "cancelled") this.#results.getState().notify("fault", describeFault(fault));
  }
}

function stemOf(file: string): string {
  return baseName(file).replace(/\.[^.]+$/, "");
}

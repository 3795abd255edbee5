import type { StoreApi } from "zustand/vanilla";
import type { HostContract } from "../../core/host-contract.ts";
import { describeFault, type Fault, failure, type Result } from "../../core/model/result.ts";
import type { FileDelivery } from "../app/file-delivery.ts";
import { pickInPage } from "../app/pick-in-page.ts";
import { type BesideCurve, besideEntries, isCurveFile } from "../state/beside-curve.ts";
import type { DocumentStore } from "../state/document-store.ts";
import { freePath, type PlanFile } from "../state/plan-file.ts";
import type { ResultsStore } from "../state/results-store.ts";
import type { FileCurve } from "../worker/curve-bench.ts";
import type { WorkerClient } from "../worker/worker-client.ts";
import type { CurvesStore, LoadedCurve, MissingCurve } from "./curves-store.ts";

export interface BesideParts {
  readonly host: HostContract;
  readonly document: StoreApi<DocumentStore>;
  readonly results: StoreApi<ResultsStore>;
  readonly client: WorkerClient;
  readonly delivery: FileDelivery;
  readonly store: StoreApi<CurvesStore>;
}

/** A file that came in, before the document knows it. */
export type CurveArrival = Omit<PlanFile, "path" | "holds">;

/** Dropped files up to so many bytes are kept with the session; a browser has no way back to them. */
const LARGEST_KEPT = 256 * 1024;
/** Keeps the names of curve files apart from those that plans use. */
const FOLDER = "beside/";

/**
 * The curves that the document names beside its own, and their points: files are read as they come in, and again when a
 * session brings their names back.
 */
export class BesideFiles {
  readonly #parts: BesideParts;
  /** What each file gave, by the origin that it was read from. */
  readonly #read = new Map<PlanFile["origin"], Result<readonly FileCurve[]>>();
  readonly #reading = new Set<PlanFile["origin"]>();
  /** Came while nothing was open: they join the first document. */
  #waiting: CurveArrival[] = [];

  constructor(parts: BesideParts) {
    this.#parts = parts;
  }

  start(): void {
    this.#parts.document.subscribe((state, before) => {
      if (state.history === undefined) return;
      if (
        state.history.present.beside !== before.history?.present.beside ||
        state.history.present.files !== before.history?.present.files
      )
        this.#sync();
      if (this.#waiting.length > 0) for (const arrival of this.#waiting.splice(0)) void this.add(arrival);
    });
    this.#sync();
  }

  /** Asks for files of curves and takes every curve in them. */
  async load(): Promise<void> {
    const { host, delivery } = this.#parts;
    const picked = await host.pickFiles("curve");
    let files: readonly CurveArrival[] = [];
    if (picked.ok)
      files = picked.value.map(({ name, label, size, token }) => ({
        name,
        label,
        size,
        origin: { kind: "host", token },
      }));
    else if (picked.fault.code !== "unsupported") return this.#tell(picked.fault);
    else
      files = (await pickInPage(true)).map((file) => ({
        name: file.name,
        label: file.name,
        size: file.size,
        origin: { kind: "dropped", key: delivery.keep(file) },
      }));
    for (const file of files) await this.add(file);
  }

  /** Every curve of a file, as one step of undo. A file that is known but could not be had takes its place again. */
  async add(arrival: CurveArrival): Promise<void> {
    const { document, results } = this.#parts;
    const blob = await this.#parts.delivery.readAll(arrival);
    if (!blob.ok) return this.#tell(blob.fault);
    const read = await this.#curvesOf(arrival.name, blob.value);
    if (!read.ok) return this.#tell(read.fault);
    const { history, setBeside, replaceFile } = document.getState();
    if (history === undefined) {
      this.#waiting.push(arrival);
      results
        .getState()
        .notify("note", `${arrival.name} holds finished curves; they are drawn beside the first frame that is opened`);
      return;
    }
    const origin = await keptOrigin(arrival, blob.value);
    this.#read.set(origin, read);
    const { files, beside = [] } = history.present;
    const lost = Object.values(files).find(
      (file) => isCurveFile(file) && file.name === arrival.name && this.#isLost(file),
    );
    if (lost !== undefined) return replaceFile({ ...lost, ...arrival, origin });
    const path = freePath(`${FOLDER}${arrival.name}`, files);
    const labels = read.value.map(({ title }) => (read.value.length > 1 ? `${arrival.name}: ${title}` : arrival.name));
    setBeside([...beside, ...besideEntries(beside, path, labels)], `load ${arrival.name}`, [
      { ...arrival, path, origin, holds: "curves" },
    ]);
  }

  remove(key: string): void {
    this.#change((beside) => beside.filter((curve) => curve.key !== key), key, "take away");
  }

  toggle(key: string): void {
    const isShown = this.#beside().find((curve) => curve.key === key)?.shown === true;
    this.#change(
      (beside) => beside.map((curve) => (curve.key === key ? { ...curve, shown: !curve.shown } : curve)),
      key,
      isShown ? "hide" : "draw",
    );
  }

  #change(next: (beside: readonly BesideCurve[]) => readonly BesideCurve[], key: string, what: string): void {
    const beside = this.#beside();
    const label = beside.find((curve) => curve.key === key)?.label;
    if (label !== undefined) this.#parts.document.getState().setBeside(next(beside), `${what} ${label}`);
  }

  #beside(): readonly BesideCurve[] {
    return this.#parts.document.getState().history?.present.beside ?? [];
  }

  #isLost({ origin }: PlanFile): boolean {
    return origin.kind === "lost" || this.#read.get(origin)?.ok === false;
  }

  /** Brings the store up with the document; what was not read yet is read. */
  #sync(): void {
    const { document, store } = this.#parts;
    const { history } = document.getState();
    const files = history?.present.files ?? {};
    const loaded: LoadedCurve[] = [];
    const missing: MissingCurve[] = [];
    for (const { path, place, key, label, colour, shown } of this.#beside()) {
      const file = files[path];
      if (file === undefined) continue;
      const read = this.#read.get(file.origin);
      if (read === undefined) {
        void this.#readAgain(file);
        continue;
      }
      const curve = read.ok ? read.value[place] : undefined;
      if (curve !== undefined) loaded.push({ ...curve, key, label, colour, shown });
      else
        missing.push({
          key,
          label,
          reason: read.ok ? `${file.name} no longer holds this curve` : describeFault(read.fault),
        });
    }
    store.getState().set({ loaded, missing });
  }

  async #readAgain(file: PlanFile): Promise<void> {
    const { origin, name } = file;
    if (this.#reading.has(origin)) return;
    this.#reading.add(origin);
    const blob = await this.#parts.delivery.readAll(file);
    this.#read.set(origin, blob.ok ? await this.#curvesOf(name, blob.value) : gone(name, blob.fault));
    this.#reading.delete(origin);
    this.#sync();
  }

  #curvesOf(name: string, blob: Blob): Promise<Result<readonly FileCurve[]>> {
    return this.#parts.client.ask("load-curves", { name, blob });
  }

  #tell(fault: Fault): void {
    if (fault.code !== "cancelled") this.#parts.results.getState().notify("fault", describeFault(fault));
  }
}

function gone(name: string, fault: Fault): Result<never> {
  return failure(fault.code, `${name} can no longer be read: ${fault.message}; load it again, or take it away`);
}

/** A small dropped file goes into the document as it is, so that the next start has it too. */
async function keptOrigin({ origin }: CurveArrival, blob: Blob): Promise<PlanFile["origin"]> {
  if (origin.kind !== "dropped" || blob.size > LARGEST_KEPT) return origin;
  const bytes = new Uint8Array(await blob.arrayBuffer());
  let letters = "";
  for (const byte of bytes) letters += String.fromCharCode(byte);
  return { kind: "inline", base64: btoa(letters) };
}

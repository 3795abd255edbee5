import type { StoreApi } from "zustand/vanilla";
import type { RunReference, RunRole } from "../../core/plan/plan.ts";
import { isCurveFile } from "../state/beside-curve.ts";
import type { DocumentStore } from "../state/document-store.ts";
import type { PlanFile } from "../state/plan-file.ts";
import { referencePath, roleOf, runsOf } from "../state/plan-reading.ts";
import type { ResultsStore } from "../state/results-store.ts";
import type { WorkerClient } from "../worker/worker-client.ts";
import type { FileDelivery } from "./file-delivery.ts";

interface Parts {
  readonly document: StoreApi<DocumentStore>;
  readonly results: StoreApi<ResultsStore>;
  readonly client: WorkerClient;
  readonly delivery: FileDelivery;
}

/** Finds out what each run of the document holds, for the runs list and the metadata. */
export class RunDescriber {
  readonly #parts: Parts;
  /** What was asked for already, by path; another origin or another choice within the file asks again. */
  readonly #asked = new Map<string, string>();

  constructor(parts: Parts) {
    this.#parts = parts;
  }

  start(): void {
    this.#parts.document.subscribe((state, before) => {
      if (state.history?.present !== before.history?.present) this.wake();
    });
    this.wake();
  }

  restart(): void {
    this.#asked.clear();
    this.wake();
  }

  wake(): void {
    const { history } = this.#parts.document.getState();
    if (history === undefined) return;
    const { plan, files } = history.present;
    for (const file of Object.values(files)) {
      if (file.path === plan.mask?.file || isCurveFile(file)) continue;
      const reference = runsOf(plan).find((run) => referencePath(run.reference) === file.path)?.reference ?? file.path;
      const asked = JSON.stringify([file.origin, reference]);
      if (this.#asked.get(file.path) === asked) continue;
      this.#asked.set(file.path, asked);
      void this.#describe(file, reference, roleOf(plan, file.path) ?? "sample");
    }
  }

  async #describe(file: PlanFile, reference: RunReference, role: RunRole): Promise<void> {
    const { results, client, delivery } = this.#parts;
    results.getState().setRun(file.path, { status: "reading" });
    const given = await delivery.deliver(file);
    const answer = given.ok ? await client.ask("describe-run", { reference, role }) : given;
    results
      .getState()
      .setRun(file.path, answer.ok ? { status: "ready", run: answer.value } : { status: "fault", fault: answer.fault });
  }
}

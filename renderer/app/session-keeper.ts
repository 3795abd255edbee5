import type { StoreApi } from "zustand/vanilla";
import type { HostContract } from "../../core/host-contract.ts";
import { describeFault } from "../../core/model/result.ts";
import { validatePlan } from "../../core/plan/parse.ts";
import type { DocumentStore } from "../state/document-store.ts";
import type { ResultsStore } from "../state/results-store.ts";
import { readSession, type Session, writeSession } from "../state/session-file.ts";

/** A change is stored after this much quiet, ms; while changes go on, at least every so often. */
const QUIET = 400;
const AT_LEAST_EVERY = 5000;
/** A session that could not be stored is tried again so often, ms: a disk is emptied, a share comes back. */
const TRY_AGAIN = 15_000;

/** Stores the session as it changes, and brings back the last one. */
export class SessionKeeper {
  readonly #host: HostContract;
  readonly #window: string;
  readonly #document: StoreApi<DocumentStore>;
  readonly #results: StoreApi<ResultsStore>;
  #timer: number | undefined;
  #unsavedSince: number | undefined;
  #written = "";
  /** The last reason why nothing could be stored, said once; undefined: it is stored. */
  #failing: string | undefined;

  constructor(parts: {
    readonly host: HostContract;
    /** Id of this window, as the host knows it. */
    readonly window: string;
    readonly document: StoreApi<DocumentStore>;
    readonly results: StoreApi<ResultsStore>;
  }) {
    this.#host = parts.host;
    this.#window = parts.window;
    this.#document = parts.document;
    this.#results = parts.results;
  }

  start(): void {
    this.#document.subscribe(() => this.#soon());
    window.addEventListener("pagehide", () => void this.#save());
    window.addEventListener("beforeunload", (event) => {
      // What is nowhere but in this window would go with it.
      if (this.#failing !== undefined) event.preventDefault();
    });
  }

  async load(): Promise<Session | undefined> {
    const stored = await this.#host.loadSession(this.#window);
    if (!stored.ok) {
      this.#results.getState().notify("fault", describeFault(stored.fault));
      return undefined;
    }
    const { json, isBesideAnother } = stored.value;
    if (isBesideAnother)
      this.#results
        .getState()
        .notify(
          "note",
          "The last session is open in another window, so this one starts afresh; each keeps its own work",
        );
    if (json === undefined) return undefined;
    const session = readSession(json, (plan) => validatePlan(plan, "session"));
    if (session.ok) return session.value;
    this.#results.getState().notify("note", describeFault(session.fault));
    return undefined;
  }

  #soon(): void {
    const now = performance.now();
    this.#unsavedSince ??= now;
    window.clearTimeout(this.#timer);
    const wait = Math.max(0, Math.min(QUIET, this.#unsavedSince + AT_LEAST_EVERY - now));
    this.#timer = window.setTimeout(() => void this.#save(), wait);
  }

  async #save(): Promise<void> {
    window.clearTimeout(this.#timer);
    this.#unsavedSince = undefined;
    const session = writeSession(this.#document.getState());
    if (session === this.#written) return;
    this.#written = session;
    const saved = await this.#host.saveSession(this.#window, session);
    const { notify } = this.#results.getState();
    if (saved.ok) {
      if (this.#failing !== undefined) notify("note", "The session is kept again, with everything done meanwhile");
      this.#failing = undefined;
      return;
    }
    this.#written = "";
    const reason = describeFault(saved.fault);
    if (reason !== this.#failing)
      notify(
        "fault",
        `The session could not be kept (${reason}); your work goes on here, and keeping it is tried again by itself: leave this window open, or save the plan elsewhere`,
      );
    this.#failing = reason;
    window.clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => void this.#save(), TRY_AGAIN);
  }
}

import type { StoreApi } from "zustand/vanilla";
import type { HostContract, HostFile, LaunchRequest } from "../../core/host-contract.ts";
import { describeFault, type Fault, failure, type Result, success } from "../../core/model/result.ts";
import { parsePlan } from "../../core/plan/parse.ts";
import type { Plan, RunRole } from "../../core/plan/plan.ts";
import { curveFiles, isCurveFile } from "../state/beside-curve.ts";
import type { DocumentStore, DocumentTree } from "../state/document-store.ts";
import { startHistory } from "../state/history.ts";
import { planForFrame } from "../state/new-plan.ts";
import type { PlanAction } from "../state/plan-actions.ts";
import { baseName, freePath, type PlanFile, type PlanFiles } from "../state/plan-file.ts";
import { referencePath, runsOf, samplesOf } from "../state/plan-reading.ts";
import { ROLE_LABELS } from "../state/plan-words.ts";
import type { ResultsStore } from "../state/results-store.ts";
import type { Session } from "../state/session-file.ts";
import type { WorkerClient } from "../worker/worker-client.ts";
import type { FileDelivery } from "./file-delivery.ts";
import { pickInPage } from "./pick-in-page.ts";

/** Plans are small; a larger JSON file is something else. */
const LARGEST_PLAN = 4 * 1024 * 1024;

const READ_FORMATS = "frames are read from HDF5, NeXus, TIFF, CBF, NPY, NPZ and text of numbers";

/** A file that was picked or dropped, before the document knows it. */
type Arrival = Omit<PlanFile, "path">;

/** Opens what the person picks, drops or names: plans with the runs they name, and runs. */
export class Opening {
  readonly #host: HostContract;
  readonly #document: StoreApi<DocumentStore>;
  readonly #results: StoreApi<ResultsStore>;
  readonly #client: WorkerClient;
  readonly #delivery: FileDelivery;
  readonly #openCurves: (arrival: Arrival) => Promise<void>;
  /** The sentence on show that asks for files of the plan. */
  #asked: string | undefined;

  constructor(parts: {
    /** Where files of finished curves go. */
    readonly openCurves: (arrival: Arrival) => Promise<void>;
    readonly host: HostContract;
    readonly document: StoreApi<DocumentStore>;
    readonly results: StoreApi<ResultsStore>;
    readonly client: WorkerClient;
    readonly delivery: FileDelivery;
  }) {
    this.#host = parts.host;
    this.#document = parts.document;
    this.#results = parts.results;
    this.#client = parts.client;
    this.#delivery = parts.delivery;
    this.#openCurves = parts.openCurves;
  }

  /** Asks for frames and plans, and opens them. */
  async pick(): Promise<void> {
    await this.#arrive(await this.#ask("run"));
  }

  /** Asks for a mask file, and puts it into the plan. */
  async pickMask(): Promise<void> {
    const [arrival] = await this.#ask("mask");
    const { history, addFiles } = this.#document.getState();
    if (arrival === undefined || history === undefined) return;
    const path = freePath(arrival.name, history.present.files);
    addFiles([{ ...arrival, path }], [{ type: "set-mask-file", file: path }], `use ${arrival.name} as mask`);
  }

  /** Asks for the run that plays a role, and gives it that role. */
  async pickFor(role: RunRole): Promise<void> {
    const [arrival] = await this.#ask("run");
    const { history } = this.#document.getState();
    if (arrival === undefined || history === undefined) return;
    const file = this.#known(arrival);
    const run = await this.#describe(file);
    if (!run.ok) return this.#tell(run.fault);
    this.#document
      .getState()
      .addFiles(
        [file],
        [{ type: "set-role", path: file.path, role }],
        `use ${file.name} as ${ROLE_LABELS[role].toLowerCase()}`,
      );
  }

  /** By the host's dialog, or by the browser's where the host has none. */
  async #ask(kind: "run" | "mask"): Promise<readonly Arrival[]> {
    const picked = await this.#host.pickFiles(kind);
    if (picked.ok) return picked.value.map(fromHost);
    if (picked.fault.code === "unsupported")
      return (await pickInPage(kind === "run")).map((file) => this.#fromPage(file));
    this.#tell(picked.fault);
    return [];
  }

  #fromPage(file: File): Arrival {
    const { name, size } = file;
    return { name, label: name, size, origin: { kind: "dropped", key: this.#delivery.keep(file) } };
  }

  async launch(request: LaunchRequest): Promise<void> {
    this.#results.getState().set({ plans: request.files.filter(isPlan) });
    const plan = request.files.find(({ token }) => token === request.plan);
    if (plan !== undefined) {
      await this.#openPlan(fromHost(plan), [], request.isSampleExperiment);
      return;
    }
    await this.#arrive(request.files.map(fromHost));
  }

  /** The sample experiment once more: the changes that were made to it the last time, over the files of this time. */
  async launchAgain(request: LaunchRequest, session: Session | undefined): Promise<void> {
    await this.launch(request);
    const files = this.#document.getState().history?.present.files;
    if (session?.history === undefined || files === undefined) return;
    const { files: before } = session.history.present;
    if (!Object.values(before).every((file) => file.path in files || isCurveFile(file))) return;
    const renew = (tree: DocumentTree): DocumentTree => ({ ...tree, files: { ...curveFiles(before), ...files } });
    const { past, present } = session.history;
    const history = {
      ...startHistory(renew(present)),
      past: past.map((step) => ({ ...step, tree: renew(step.tree) })),
    };
    this.#document.getState().restore(history, session.view, true);
  }

  openFromHost(files: readonly HostFile[]): Promise<void> {
    return this.#arrive(files.map(fromHost));
  }

  openDropped(files: readonly File[]): Promise<void> {
    return this.#arrive(files.map((file) => this.#fromPage(file)));
  }

  /** A plan among those that came with the start. */
  openPlan(file: HostFile): Promise<void> {
    return this.#openPlan(fromHost(file), [], this.#document.getState().isSampleExperiment);
  }

  async #arrive(arrivals: readonly Arrival[]): Promise<void> {
    const plan = arrivals.find(isPlan);
    if (plan !== undefined) {
      await this.#openPlan(
        plan,
        arrivals.filter((arrival) => arrival !== plan),
        false,
      );
      return;
    }
    for (const arrival of arrivals) await this.#openOther(arrival);
  }

  /** A frame, or a file of finished curves: its content says which. */
  async #openOther(arrival: Arrival): Promise<void> {
    if (this.#bringBack(arrival)) return;
    const holdsCurves = await this.#holdsCurves(arrival);
    if (!holdsCurves.ok) return this.#tell(holdsCurves.fault);
    if (!holdsCurves.value) return this.#openRun(arrival);
    await this.#openCurves(arrival);
    this.#document.getState().show({ question: "curves" });
  }

  /** A file that the document waits for takes its place; it is known by its name. */
  #bringBack(arrival: Arrival): boolean {
    const files = () => Object.values(this.#document.getState().history?.present.files ?? {});
    const wanted = files().filter((file) => isLost(file) && file.name === arrival.name);
    for (const { path } of wanted) this.#document.getState().replaceFile({ ...arrival, path });
    if (wanted.length > 0 && this.#asked !== undefined && !files().some(isLost)) this.#askFor("", []);
    return wanted.length > 0;
  }

  /** A fault where the file can't be had, or where reading it ended the worker. */
  async #holdsCurves(arrival: Arrival): Promise<Result<boolean>> {
    const blob = await this.#delivery.readAll(arrival);
    if (!blob.ok) return blob;
    const answer = await this.#client.ask("holds-curves", { name: arrival.name, blob: blob.value });
    return answer.ok ? success(answer.value.holdsCurves) : answer;
  }

  async #openPlan(arrival: Arrival, beside: readonly Arrival[], isSampleExperiment: boolean): Promise<void> {
    const blob = await this.#delivery.readAll(arrival);
    if (!blob.ok) {
      this.#tell(blob.fault);
      return;
    }
    const plan = parsePlan(await blob.value.text(), arrival.name);
    if (!plan.ok) {
      this.#tell(plan.fault);
      return;
    }
    const files = await this.filesOfPlan(plan.value, arrival, beside);
    this.#document.getState().open({ plan: plan.value, files }, isSampleExperiment);
    this.#askFor(arrival.name, Object.values(files).filter(isLost));
    for (const other of beside)
      if (!Object.values(files).some((file) => sameOrigin(file, other))) await this.#keep(other);
  }

  /** Came with a plan that doesn't name it: curves are drawn, frames wait in the list for a role. */
  async #keep(arrival: Arrival): Promise<void> {
    const holdsCurves = await this.#holdsCurves(arrival);
    if (!holdsCurves.ok) return this.#tell(holdsCurves.fault);
    if (holdsCurves.value) return this.#openCurves(arrival);
    const file = this.#known(arrival);
    const run = await this.#describe(file);
    if (run.ok) this.#document.getState().addFiles([file], [], `open ${file.name}`);
    else this.#tell(run.fault);
  }

  /** Says which files a plan waits for. The sentence goes when the last of them is there. */
  #askFor(plan: string, lost: readonly PlanFile[]): void {
    const { notify, notices, dismiss } = this.#results.getState();
    for (const { id, text } of notices) if (text === this.#asked) dismiss(id);
    this.#asked = undefined;
    if (lost.length === 0) return;
    const names = [...new Set(lost.map(({ name }) => name))];
    this.#asked = `${plan} is open, but ${names.length === 1 ? "a file that it names is" : "files that it names are"} not at hand: drop ${names.join(", ")} on the window, now or together with the plan; each is known by its name`;
    notify("fault", this.#asked);
  }

  /** Every file that a plan names, found among `beside` or next to the plan, or marked as lost. */
  async filesOfPlan(plan: Plan, arrival: Arrival, beside: readonly Arrival[]): Promise<PlanFiles> {
    const paths = runsOf(plan).map(({ reference }) => referencePath(reference));
    if (plan.mask?.file !== undefined) paths.push(plan.mask.file);
    const found = await Promise.all(
      [...new Set(paths)].map(async (path): Promise<PlanFile> => {
        const near = beside.find(({ name }) => name === baseName(path));
        if (near !== undefined) return { ...near, path };
        const resolved = await this.#besidePlan(arrival, path);
        if (resolved.ok) return { ...fromHost(resolved.value), path };
        const reason = describeFault(resolved.fault);
        return { path, name: baseName(path), label: path, size: 0, origin: { kind: "lost", reason } };
      }),
    );
    return Object.fromEntries(found.map((file) => [file.path, file]));
  }

  async #besidePlan({ origin, name }: Arrival, path: string): Promise<Result<HostFile>> {
    if (origin.kind === "host") return this.#host.resolveBeside(origin.token, path);
    return failure("missing", `${name} names ${path}, which did not come with it`);
  }

  async #openRun(arrival: Arrival): Promise<void> {
    const { history, isSampleExperiment } = this.#document.getState();
    const file = this.#known(arrival);
    const run = await this.#describe(file);
    if (!run.ok) {
      this.#tell(run.fault);
      return;
    }
    if (history === undefined || isSampleExperiment)
      this.#document.getState().open({ plan: planForFrame(file.path, run.value), files: { [file.path]: file } });
    else this.#showAsSample(history.present, file);
  }

  /** Under the path by which the document knows the file already, or under a new one. */
  #known(arrival: Arrival): PlanFile {
    const known = this.#document.getState().history?.present.files ?? {};
    const same = Object.values(known).find((file) => sameOrigin(file, arrival));
    return { ...arrival, path: same?.path ?? freePath(arrival.name, known) };
  }

  /** A frame that is opened beside others is one more sample of the same plan, and the one on show. */
  #showAsSample(tree: DocumentTree, file: PlanFile): void {
    const paths = samplesOf(tree.plan).map(referencePath);
    const place = paths.indexOf(file.path);
    const role: PlanAction = { type: "set-role", path: file.path, role: "sample" };
    if (place < 0) this.#document.getState().addFiles([file], [role], `open ${file.name}`);
    this.#document.getState().show({ sampleIndex: place < 0 ? paths.length : place });
  }

  async #describe(file: PlanFile) {
    const given = await this.#delivery.deliver(file);
    if (!given.ok) return given;
    const run = await this.#client.ask("describe-run", { reference: file.path, role: "sample" });
    return run.ok ? success(run.value) : { ok: false as const, fault: ofOpened(run.fault) };
  }

  #tell(fault: Fault): void {
    if (fault.code !== "cancelled") this.#results.getState().notify("fault", describeFault(fault));
  }
}

/** Of a file that was opened by itself the person knows no role: the name says which it is. */
function ofOpened({ field: _role, ...fault }: Fault): Fault {
  const isUnread = ["unreadable", "unsupported", "missing"].includes(fault.code);
  return isUnread ? { ...fault, message: `${fault.message} (${READ_FORMATS})` } : fault;
}

/** By its name: what is wrong with it is found when it is read. */
function isPlan({ name, size }: Pick<Arrival, "name" | "size">): boolean {
  return name.toLowerCase().endsWith(".json") && size <= LARGEST_PLAN;
}

/** A run or a mask that the document waits for. */
function isLost(file: PlanFile): boolean {
  return file.origin.kind === "lost" && !isCurveFile(file);
}

function fromHost({ token, name, label, size }: HostFile): Arrival {
  return { name, label, size, origin: { kind: "host", token } };
}

function sameOrigin(file: PlanFile, arrival: Arrival): boolean {
  return JSON.stringify(file.origin) === JSON.stringify(arrival.origin);
}

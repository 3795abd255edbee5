import type { ByteSource, OpenHdf5 } from "../../core/formats/reader.ts";
import { failure, type Result, success } from "../../core/model/result.ts";
import { CurveBench } from "./curve-bench.ts";
import { FileShelf } from "./file-shelf.ts";
import { fetchPlugin } from "./hdf5-plugins.ts";
import { hdf5HasStopped, hdf5Opener } from "./open-hdf5.ts";
import type { Answer, FromWorker, Progress, QuestionKind, ToWorker } from "./protocol.ts";
import { rasterise } from "./rasterise.ts";
import { ReadingWatch } from "./reading-watch.ts";
import { WindowRunSource } from "./window-run-source.ts";
import { Workbench } from "./workbench.ts";
import { writeHdf5 } from "./write-hdf5.ts";

declare const HALATION_VERSION: string;

type Question = Exclude<ToWorker, { kind: "cancel" | "avoid" }>;

const shelf = new FileShelf();
const watch = new ReadingWatch((file) => send({ kind: "reading", file }), hdf5HasStopped);
const workbench = new Workbench({
  source: new WindowRunSource(shelf, hdf5Opener(fetchPlugin), watch),
  services: { writeHdf5, rasterise },
  version: HALATION_VERSION,
});
const curves = new CurveBench({ openHdf5: openCurveFile, writeHdf5, version: HALATION_VERSION });
const running = new Map<number, AbortController>();

/** Curves have no place on the shelf: name and size tell their files apart. */
async function openCurveFile(source: ByteSource): ReturnType<OpenHdf5> {
  const read = { key: `curves ${source.name} ${source.size}`, name: source.name };
  const allowed = watch.check(read);
  return allowed.ok ? watch.over(hdf5Opener(fetchPlugin), read)(source) : allowed;
}

self.onmessage = ({ data }: MessageEvent<ToWorker>) => {
  if (data.kind === "cancel") running.get(data.id)?.abort();
  else if (data.kind === "avoid") watch.avoid(data.key, data.reason);
  else void answer(data);
};

async function answer(question: Question): Promise<void> {
  const { id } = question;
  const cancel = new AbortController();
  running.set(id, cancel);
  try {
    const result = await work(question, cancel.signal, (progress) => send({ id, kind: "progress", progress }));
    send({ id, kind: "answer", result });
    if (question.kind === "reduce" && result.ok) prepareSoon();
  } catch (error) {
    if (cancel.signal.aborted) send({ id, kind: "answer", result: failure("cancelled", "cancelled") });
    else send({ id, kind: "bug", message: error instanceof Error ? error.message : String(error) });
  } finally {
    running.delete(id);
  }
}

async function work(
  question: Question,
  signal: AbortSignal,
  report: (progress: Progress) => void,
): Promise<Result<Answer<QuestionKind>>> {
  const options = { signal, onProgress: (fraction: number, label: string) => report({ fraction, label }) };
  switch (question.kind) {
    case "give-file": {
      const { path, stamp, name, blob } = question.ask;
      // A file that is new leaves what was made of the others as it is.
      if (shelf.put(path, stamp, name, blob)) workbench.forget();
      return success(undefined);
    }
    case "drop-file":
      shelf.drop(question.ask.path);
      return success(undefined);
    case "read-frame":
      return workbench.readFrame(question.ask, options);
    case "describe-run":
      return workbench.describe(question.ask, options);
    case "reduce":
      return workbench.reduce(question.ask, options);
    case "follow":
      return workbench.follow(question.ask);
    case "bin-map":
      return workbench.binMap(question.ask);
    case "walk-point":
      return workbench.walkPoint(question.ask, options);
    case "analyse":
      return workbench.analyse(question.ask, options);
    case "residual":
      return workbench.residual(question.ask);
    case "series":
      return workbench.series(question.ask, options);
    case "direct-beams":
      return workbench.directBeams(question.ask, options);
    case "assess-stop":
      return workbench.assessStop(question.ask, options);
    case "holds-curves":
      return success({ holdsCurves: await curves.holds(question.ask, signal) });
    case "load-curves":
      return curves.load(question.ask, signal);
    case "work-on-curves": {
      const made = await curves.work(question.ask);
      return made.ok ? success({ made: made.value }) : made;
    }
    case "draw-figure":
      return workbench.drawFigure(question.ask);
    case "export":
      return workbench.export(question.ask, options);
  }
}

/** A pause after the last reduction, ms: a drag may begin then, a further change would make the work useless. */
const PREPARE_AFTER = 200;
let preparing: ReturnType<typeof setTimeout> | undefined;

function prepareSoon(): void {
  clearTimeout(preparing);
  preparing = setTimeout(() => prepareOn(workbench.prepareFollow()), PREPARE_AFTER);
}

/** Each part is a task of its own, so that what the window asks meanwhile is answered in between. */
function prepareOn(parts: Generator<undefined, void>): void {
  if (parts.next().done !== true) preparing = setTimeout(() => prepareOn(parts), 0);
}

function send(message: FromWorker): void {
  self.postMessage(message, { transfer: message.kind === "answer" ? transferable(message.result) : [] });
}

/** The large arrays of an answer, which are copies made for the window: they change hands instead of being cloned. */
function transferable(result: Result<Answer<QuestionKind>>): ArrayBuffer[] {
  if (!result.ok || result.value === undefined) return [];
  const { value } = result;
  if ("bins" in value) return buffers([value.bins]);
  if ("residual" in value) return buffers([value.residual]);
  if ("png" in value) return buffers([value.png]);
  if ("counts" in value) return buffers([value.counts]);
  if ("files" in value) return buffers(value.files.map(({ bytes }) => bytes));
  if ("beams" in value) return buffers(value.beams.map(({ shown }) => (shown.ok ? shown.value.counts : undefined)));
  if ("mask" in value) return buffers([value.mask, value.frame.counts]);
  return [];
}

function buffers(arrays: readonly (ArrayBufferView | undefined)[]): ArrayBuffer[] {
  const found = arrays.flatMap((array) => (array?.buffer instanceof ArrayBuffer ? [array.buffer] : []));
  return [...new Set(found)];
}

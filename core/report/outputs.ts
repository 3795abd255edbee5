import { qxQyGrid } from "../anisotropy/qxqy-grid.ts";
import type { Curve } from "../model/curve.ts";
import { failure, type Result, success } from "../model/result.ts";
import type { OutputKind } from "../plan/plan.ts";
import type { Reduction } from "../plan/reduction.ts";
import { cansasXml } from "./cansas-xml.ts";
import { averageText } from "./columns.ts";
import { averageCsv } from "./csv.ts";
import { figureFiles } from "./figure-files.ts";
import { jsonBytes } from "./json.ts";
import { mapFiles } from "./maps.ts";
import { curveTree, frameTree, gridTree } from "./nxcansas.ts";
import type { OutputFile } from "./output-file.ts";
import type { OutputServices } from "./output-services.ts";
import { reductionFigures } from "./reduction-figures.ts";
import { reportHtml } from "./report-html.ts";
import { outputNotes, reductionSummary } from "./summary.ts";
import { utf8 } from "./text.ts";

/**
 * Turns a reduction into files, the same bytes for every host. `summary.json` and `ledger.json` are always among them;
 * the rest as `kinds` says.
 *
 * @param services what the kinds asked for need from the host; a missing one is our bug
 * @throws the reason of `signal` once it is aborted
 */
export async function buildOutputs(
  reduction: Reduction,
  kinds: readonly OutputKind[],
  services: OutputServices,
  signal: AbortSignal,
): Promise<Result<readonly OutputFile[]>> {
  const averages = [...reduction.curves, ...reduction.profiles];
  const badName = unusableId(averages.map((average) => average.id));
  if (badName !== undefined) return failure("out-of-range", badName, { field: "averages" });

  const wanted = new Set(kinds);
  const files: OutputFile[] = [];
  for (const average of averages) {
    signal.throwIfAborted();
    const place = `curves/${average.id}`;
    if (wanted.has("csv")) files.push({ path: `${place}.csv`, bytes: utf8(averageCsv(average)) });
    if (wanted.has("columns")) files.push({ path: `${place}.txt`, bytes: utf8(averageText(average, reduction)) });
  }
  if (wanted.has("cansas-xml")) {
    for (const curve of writable(reduction.curves)) {
      files.push({ path: `curves/${curve.id}.xml`, bytes: utf8(cansasXml(curve, reduction)) });
    }
  }
  if (wanted.has("nxcansas")) files.push(...(await nexusFiles(reduction, services, signal)));
  if (wanted.has("maps")) files.push(...mapFiles(reduction));
  signal.throwIfAborted();
  const figures = wanted.has("figures") || wanted.has("report") ? reductionFigures(reduction) : [];
  if (wanted.has("figures")) files.push(...(await figureFiles(figures, services, signal)));
  if (wanted.has("report")) files.push({ path: "report.html", bytes: utf8(reportHtml(reduction, figures)) });
  files.push({ path: "summary.json", bytes: jsonBytes(reductionSummary(reduction)) });
  files.push({ path: "ledger.json", bytes: jsonBytes({ ...reduction.ledger, notes: outputNotes(reduction) }) });
  return success(files);
}

/** Curves with points: the standards have no way to write a curve without one. */
function writable(curves: readonly Curve[]): readonly Curve[] {
  return curves.filter((curve) => curve.q.length > 0);
}

async function nexusFiles(reduction: Reduction, services: OutputServices, signal: AbortSignal): Promise<OutputFile[]> {
  const { writeHdf5 } = services;
  if (writeHdf5 === undefined) throw new TypeError("NXcanSAS needs the service writeHdf5");
  const files: OutputFile[] = [];
  for (const curve of writable(reduction.curves)) {
    signal.throwIfAborted();
    files.push({ path: `curves/${curve.id}.h5`, bytes: await writeHdf5(curveTree(curve, reduction)) });
  }
  signal.throwIfAborted();
  files.push({ path: "maps/frame.h5", bytes: await writeHdf5(frameTree(reduction)) });
  signal.throwIfAborted();
  files.push({ path: "maps/qxqy.h5", bytes: await writeHdf5(gridTree(reduction, qxQyGrid(reduction))) });
  return files;
}

const FILE_NAME = /^[\p{L}\p{N}_](?:[\p{L}\p{N}_.\- ]*[\p{L}\p{N}_-])?$/u;

/** Ids become file names, so they must be plain and differ by more than the case of letters. */
function unusableId(ids: readonly string[]): string | undefined {
  const seen = new Map<string, string>();
  for (const id of ids) {
    if (!FILE_NAME.test(id)) {
      return `the average's id ${JSON.stringify(id)} cannot be a file name: use letters, digits, "-", "_" and "."`;
    }
    const key = id.toLowerCase();
    const other = seen.get(key);
    if (other !== undefined)
      return `the averages ${JSON.stringify(other)} and ${JSON.stringify(id)} would share a file: rename one`;
    seen.set(key, id);
  }
  return undefined;
}

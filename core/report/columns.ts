import type { Curve, Profile } from "../model/curve.ts";
import { seventeenDigits } from "../model/numbers.ts";
import { planHash } from "../plan/canonical-json.ts";
import { averageColumns, hasResolution, isProfile } from "./average-table.ts";
import type { CurveOrigin } from "./curve-origin.ts";
import { appliedSteps, notAppliedInWords, stepName, stepsNotApplied } from "./ledger-words.ts";
import { oneLine } from "./text.ts";

/**
 * An average as blank-separated columns of 17 significant digits under a `#` header. Programs that read such files take
 * the fourth column of a curve for the resolution, so a curve without one is written as Q, I and dI alone.
 */
export function averageText(average: Curve | Profile, reduction: CurveOrigin): string {
  const cutShort = !isProfile(average) && !hasResolution(average);
  // A curve that was put together from others has no pixels and counts: columns of nothing but "nan" help nobody.
  const all = averageColumns(average).filter(({ values }) => values === undefined || !values.every(Number.isNaN));
  const columns = cutShort ? all.slice(0, 3) : all;

  const header = headerOf(average, reduction);
  for (const { name, unit, meaning } of columns) header.push(`${name}: ${meaning}${unit === "" ? "" : `; ${unit}`}`);
  const inCsv = all.length > 4 ? "; pixels and counts are in the CSV file" : "";
  if (cutShort) header.push(`dQ: not known, so columns after dI are left out${inCsv}`);
  header.push(columns.map((column) => column.name).join(" "));

  const lines = header.map((line) => `# ${oneLine(line)}`);
  for (let b = 0; b < average.intensity.length; b++) {
    lines.push(columns.map(({ values }) => seventeenDigits(values![b]!)).join(" "));
  }
  return `${lines.join("\n")}\n`;
}

function headerOf(average: Curve | Profile, { ledger, sampleFile, title, warnings }: CurveOrigin): string[] {
  const sample = ledger.inputs.find((input) => input.role === "sample");
  const applied = appliedSteps(ledger.steps).map((step) => stepName(step.step));
  const header = [
    `${ledger.program.name} ${ledger.program.version}`,
    `title: ${title}`,
    `run: ${sampleFile}${sample === undefined ? "" : `, sha256 ${sample.sha256}`}`,
    `average: ${average.id}, ${average.kind}`,
    `plan: sha256 ${planHash(ledger.plan)}`,
    `applied: ${applied.length > 0 ? applied.join(", ") : "nothing"}`,
  ];
  for (const step of stepsNotApplied(ledger.steps)) header.push(`not applied: ${notAppliedInWords(step)}`);
  for (const warning of warnings) header.push(`warning: ${warning}`);
  return header;
}

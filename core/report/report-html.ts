import type { Curve, Profile } from "../model/curve.ts";
import type { LedgerEntry } from "../model/ledger.ts";
import { countMasked } from "../model/mask.ts";
import { readable, withSigma } from "../model/numbers.ts";
import { planHash } from "../plan/canonical-json.ts";
import { commonSigmas, commonUncertainty } from "../plan/common-uncertainty.ts";
import type { Measured, Reduction, StopOutline } from "../plan/reduction.ts";
import { averageColumns } from "./average-table.ts";
import { jsonText } from "./json.ts";
import { effectInWords, parameterText, stepName } from "./ledger-words.ts";
import type { ReductionFigure } from "./reduction-figures.ts";
import { REPORT_STYLE } from "./report-style.ts";
import { outputNotes } from "./summary.ts";
import { escapeXml, oneLine } from "./text.ts";

/**
 * The report of a reduction: one page that needs nothing but itself. Figures are inline, there is no script, and its
 * content policy allows no other source.
 */
export function reportHtml(reduction: Reduction, figures: readonly ReductionFigure[]): string {
  const { title, ledger, sampleFile } = reduction;
  const averages = [...reduction.curves, ...reduction.profiles];
  const body = [
    "<header>",
    tag("h1", title),
    tag("p", `${sampleFile}, reduced by ${ledger.program.name} ${ledger.program.version}`),
    "</header>",
    ...warningsSection([...reduction.warnings, ...outputNotes(reduction)]),
    section("Result", table(["Quantity", "Value"], resultRows(reduction))),
    section("Figures", `<div class="figures">${figures.map(figureMarkup).join("\n")}</div>`),
    section("What was done", ledgerTable(ledger.steps)),
    section("Inputs", inputsTable(reduction)),
    section(
      "Curves",
      averages.map((average) => averageDetails(average, reduction)).join("\n") || tag("p", "None was asked for."),
    ),
    section(
      "Plan",
      `<details>\n${tag("summary", "The plan as it was run")}\n<pre>${escapeXml(jsonText(ledger.plan))}</pre>\n</details>`,
    ),
  ];
  return [
    "<!DOCTYPE html>",
    '<html lang="en">',
    "<head>",
    '<meta charset="utf-8">',
    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\">",
    '<meta name="viewport" content="width=device-width">',
    tag("title", title),
    `<style>${REPORT_STYLE}</style>`,
    "</head>",
    "<body>",
    "<main>",
    ...body,
    "</main>",
    "</body>",
    "</html>",
    "",
  ].join("\n");
}

function tag(name: string, words: string): string {
  return `<${name}>${escapeXml(oneLine(words))}</${name}>`;
}

function section(heading: string, content: string): string {
  return `<section>\n${tag("h2", heading)}\n${content}\n</section>`;
}

/** Cells are text, but for those that are markup already. */
type Cell = string | { readonly html: string };

function table(head: readonly string[], rows: readonly (readonly Cell[])[], className = ""): string {
  const cell = (content: Cell) => (typeof content === "string" ? tag("td", content) : `<td>${content.html}</td>`);
  const lines = rows.map((row) => `<tr>${row.map(cell).join("")}</tr>`);
  const open = className === "" ? "<table>" : `<table class="${className}">`;
  return `${open}\n<thead><tr>${head.map((name) => tag("th", name)).join("")}</tr></thead>\n<tbody>\n${lines.join("\n")}\n</tbody>\n</table>`;
}

function list(items: readonly string[]): string {
  return `<ul>\n${items.map((item) => tag("li", item)).join("\n")}\n</ul>`;
}

function warningsSection(warnings: readonly string[]): readonly string[] {
  return warnings.length === 0 ? [] : [section("Warnings", list(warnings))];
}

function resultRows(reduction: Reduction): readonly (readonly string[])[] {
  const { beamCentre, beamStop, transmission, unit, maps, ledger, curves, profiles } = reduction;
  const masked = countMasked(maps.mask).total;
  return [
    ["Intensity in", unit],
    [
      "Beam centre (px)",
      `column ${withSigma(beamCentre.x, beamCentre.xSigma)}, row ${withSigma(beamCentre.y, beamCentre.ySigma)} (${beamCentre.method}, ${beamCentre.from})`,
    ],
    ["Beam stop", beamStop === undefined ? "not looked for or not found" : stopInWords(beamStop)],
    ["Sample transmission", measuredInWords(transmission.sample)],
    ["Empty cell transmission", measuredInWords(transmission.emptyCell)],
    ["Known in common to", commonInWords(reduction)],
    ["Pixels masked", `${masked} of ${maps.mask.length}`],
    ["Averages", `${curves.length + profiles.length}`],
    ["Plan (SHA-256)", planHash(ledger.plan)],
  ];
}

/** What moves all points together, and is no part of their dI. */
function commonInWords({ estimate }: Reduction): string {
  const { relativeSigma, factors } = commonUncertainty(estimate);
  if (relativeSigma === null) return "not known";
  const percent = (relative: number) => `${readable(100 * relative)} %`;
  const known = factors.filter((factor) => factor.relativeSigma !== null && factor.relativeSigma > 0);
  const parts = known.map(({ name, relativeSigma: own, appliesTo }) => {
    const place = appliesTo === "the intensity" ? "" : ` of the ${appliesTo}`;
    return `${name}${place} ${percent(own!)}`;
  });
  return `${percent(relativeSigma)}${parts.length > 0 ? `: ${parts.join(", ")}` : ""}`;
}

function measuredInWords(quantity: Measured | undefined): string {
  return quantity === undefined ? "not known" : withSigma(quantity.value, quantity.sigma);
}

function stopInWords(stop: StopOutline): string {
  const place = `column ${withSigma(stop.x, stop.xSigma)}, row ${withSigma(stop.y, stop.ySigma)}`;
  if (stop.shape === "circle") return `circle at ${place}, radius ${withSigma(stop.radius, stop.radiusSigma)} px`;
  const turn = readable((stop.turn * 180) / Math.PI);
  return `rectangle at ${place}, ${withSigma(stop.width, stop.widthSigma)} by ${withSigma(stop.height, stop.heightSigma)} px, turned by ${turn}°`;
}

function figureMarkup({ svg, caption }: ReductionFigure): string {
  return `<figure>\n${svg.trimEnd()}\n${tag("figcaption", caption)}\n</figure>`;
}

function ledgerTable(steps: readonly LedgerEntry[]): string {
  const rows = steps.map((step): readonly Cell[] => {
    const parameters = Object.entries(step.parameters).map(([key, value]) => {
      const source = step.sources[key];
      return `${key}: ${parameterText(value, sixDigits)}${source === undefined ? "" : ` (from ${source})`}`;
    });
    const remarks = [
      ...(step.reason === undefined ? [] : [step.reason]),
      ...(effectInWords(step.effect) === "" ? [] : [effectInWords(step.effect)]),
      ...(step.relativeSigma === undefined ? [] : [`known to ${readable(100 * step.relativeSigma)} %`]),
      ...step.warnings.map((warning) => `warning: ${warning}`),
    ];
    return [
      stepName(step.step),
      { html: `<span class="status">${step.status}</span>` },
      { html: lines(parameters) },
      { html: lines(remarks) },
    ];
  });
  return table(["Step", "", "With", "Effect and remarks"], rows);
}

/** To read; ledger.json has them in full. Whole numbers, counts among them, stay as they are. */
function sixDigits(value: number): string {
  return Number.isInteger(value) ? String(value) : String(Number(value.toPrecision(6)));
}

function lines(items: readonly string[]): string {
  return items.map((item) => escapeXml(oneLine(item))).join("<br>");
}

function inputsTable({ ledger }: Reduction): string {
  const rows = ledger.inputs.map(({ role, file, format, dataset, sha256 }): readonly Cell[] => [
    role,
    file,
    format,
    dataset,
    { html: `<code>${escapeXml(sha256)}</code>` },
  ]);
  return table(["Role", "File", "Format", "Dataset", "SHA-256"], rows);
}

/** An average's table, folded away: five digits to read; the files hold all. */
function averageDetails(average: Curve | Profile, { estimate }: Reduction): string {
  const common = commonSigmas(average, estimate);
  const columns = [
    ...averageColumns(average),
    { name: "scatter", unit: average.unit, values: average.scatterSigma },
    { name: "common", unit: average.unit, values: common },
  ].filter(({ values }) => values !== undefined);
  const head = columns.map(({ name, unit }) => (unit === "" ? name : `${name} (${unit})`));
  const rows: string[][] = [];
  for (let b = 0; b < average.intensity.length; b++) rows.push(columns.map(({ values }) => shown(values![b]!)));
  const summary = `${average.id}: ${average.kind}, ${rows.length} ${rows.length === 1 ? "point" : "points"}`;
  const meaning = `dI is one standard deviation from counting, "scatter" the same from the scatter between pixels${common === undefined ? "" : `, "common" what moves all points together`}.`;
  return `<details>\n${tag("summary", summary)}\n${tag("p", meaning)}\n${table(head, rows, "numbers")}\n</details>`;
}

function shown(value: number): string {
  return Number.isFinite(value) ? String(Number(value.toPrecision(5))) : "not known";
}

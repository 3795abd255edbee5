import type { BeamStopReport } from "../../core/beam/beam-stop-report.ts";
import { readable, withSigma } from "../../core/model/numbers.ts";
import { STOP_CAUTION } from "../../core/plan/assess-stop.ts";

const NAME_COLUMN = 24;

const METHODS = {
  rings: "centre by rings",
  "direct-beam": "from the direct beam",
  symmetry: "from the symmetry of the scattering",
  given: "as given",
} as const;

/** The report for people: the sentence, then the numbers that decide it. What isn't known is said to be so. */
export function stopReportText(report: BeamStopReport): string {
  const { verdict, reason, warnings } = report;
  return [
    reason,
    "",
    ...[["verdict", verdict === "cannot-tell" ? "cannot tell" : verdict] as const, ...rows(report)].map(
      ([name, value]) => `  ${name.padEnd(NAME_COLUMN)}${value}`,
    ),
    ...warnings.map((warning) => `  warning: ${warning}`),
    "",
    STOP_CAUTION,
  ].join("\n");
}

type Row = readonly [name: string, value: string];

function rows(report: BeamStopReport): readonly Row[] {
  const { offset_px, offset_px_sigma, move_mm, leak, leakedFraction, hottest, total } = report;
  return [
    ...stopRows(report.stop),
    ...beamRows(report.beam),
    ["stop minus beam, x", quantity(offset_px?.[0], offset_px_sigma?.[0], "px")],
    ["stop minus beam, y", quantity(offset_px?.[1], offset_px_sigma?.[1], "px")],
    ["offset", quantity(report.offset_mm, report.offset_mm_sigma, "mm")],
    [
      "smallest margin",
      report.margin_mm === null
        ? quantity(report.margin_px, null, "px")
        : quantity(report.margin_mm, report.margin_mm_sigma, "mm"),
    ],
    ["margin is smallest at", quantity(report.marginDirection_deg, null, "deg")],
    ["move the stop", move_mm === null ? "not known" : moveInWords(move_mm)],
    ["lowest Q now", quantity(report.qMin_1A, null, "1/A")],
    ["lowest Q if centred", quantity(report.qMinCentred_1A, null, "1/A")],
    ["above the halo at rim", leak === null ? "not known" : rimInWords(leak)],
    ["beam that passes", leakedFraction === null ? "not known" : `${readable(100 * leakedFraction)} % of it`],
    ["hottest pixel", hottest === null ? "not known" : hottestInWords(hottest)],
    ["total", total.rate_1s === null ? `${total.counts} counts` : `${readable(total.rate_1s)} 1/s`],
  ];
}

function stopRows(stop: BeamStopReport["stop"]): readonly Row[] {
  if (stop === null) return [["stop", "not found"]];
  const size: readonly Row[] =
    stop.shape === "circle"
      ? [["stop radius", quantity(stop.radius_px, stop.radius_px_sigma, "px")]]
      : [
          ["stop width", quantity(stop.width_px, stop.width_px_sigma, "px")],
          ["stop height", quantity(stop.height_px, stop.height_px_sigma, "px")],
          ["stop turn", quantity(stop.turn_deg, stop.turn_deg_sigma, "deg")],
        ];
  return [
    ["stop", stop.shape],
    ["stop centre, x", quantity(stop.x_px, stop.x_px_sigma, "px")],
    ["stop centre, y", quantity(stop.y_px, stop.y_px_sigma, "px")],
    ...size,
    ["penumbra", quantity(stop.penumbra_px, stop.penumbra_px_sigma, "px")],
  ];
}

function beamRows(beam: BeamStopReport["beam"]): readonly Row[] {
  if (beam === null) return [["beam", "not found"]];
  return [
    ["beam", METHODS[beam.method]],
    ["beam centre, x", quantity(beam.x_px, beam.x_px_sigma, "px")],
    ["beam centre, y", quantity(beam.y_px, beam.y_px_sigma, "px")],
    ["beam radius", quantity(beam.radius_px, null, "px")],
  ];
}

function quantity(value: number | null | undefined, sigma: number | null | undefined, unit: string): string {
  return value === null || value === undefined ? "not known" : `${withSigma(value, sigma ?? undefined)} ${unit}`;
}

/** "3.1 mm to the right, 0.4 mm down" */
export function moveInWords([right, up]: readonly [number, number]): string {
  return [
    `${Math.abs(right).toFixed(2)} mm to the ${right < 0 ? "left" : "right"}`,
    `${Math.abs(up).toFixed(2)} mm ${up < 0 ? "down" : "up"}`,
  ].join(", ");
}

function rimInWords({ excessCounts, excessCounts_sigma, significance, segments }: NonNullable<BeamStopReport["leak"]>) {
  return `${withSigma(excessCounts, excessCounts_sigma)} counts, ${significance.toFixed(1)} sigma over ${segments.length} segments`;
}

function hottestInWords({ x_px, y_px, counts, rate_1s }: NonNullable<BeamStopReport["hottest"]>): string {
  const rate = rate_1s === null ? "" : `, ${readable(rate_1s)} 1/s`;
  return `(${x_px}, ${y_px}) with ${counts} counts${rate}`;
}

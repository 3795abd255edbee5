import type { ReactNode } from "react";
import type { BeamStopReport } from "../../core/beam/beam-stop-report.ts";
import { withSigma } from "../../core/model/numbers.ts";
import { STOP_CAUTION } from "../../core/plan/assess-stop.ts";
import { useResults } from "../app/application.ts";
import { Quantity } from "../app/parts/quantity.tsx";
import { VerdictRing } from "../app/verdict-ring.tsx";
import { verdictWord } from "./verdict-change.ts";

/** The verdict, large enough to be read across a room, and the numbers that decide it. */
export function StopBand() {
  const report = useResults(({ stop }) => stop);
  return (
    <div className="question-band stop-band">
      <div className="stop-answer" data-verdict={report?.verdict}>
        <span className="stop-ring">
          <VerdictRing state={report?.verdict ?? "cannot-tell"} />
        </span>
        <span className="stop-answer-words">
          <span className="stop-answer-number">{answerOf(report)}</span>
          <span className="stop-answer-verdict">{report === undefined ? "judging" : verdictWord(report.verdict)}</span>
        </span>
      </div>
      <dl className="band-facts">
        <Fact label="Off centre by">
          {report?.offset_mm === null && report.offset_px !== null ? (
            <Quantity value={Math.hypot(...report.offset_px)} sigma={offsetSigma(report)} unit="px" />
          ) : (
            <Quantity value={report?.offset_mm ?? undefined} sigma={report?.offset_mm_sigma ?? undefined} unit="mm" />
          )}
        </Fact>
        <Fact label="To centre it, move it">
          {report?.move_mm ? (
            <span className="stop-move">{moveInWords(report.move_mm)}</span>
          ) : (
            <span className="quantity unknown">not known</span>
          )}
        </Fact>
        <Fact label="Lowest free Q, and if centred">
          <span className="quantity">
            {shortQ(report?.qMin_1A)} → {shortQ(report?.qMinCentred_1A)}
            <span className="unit">1/Å</span>
          </span>
        </Fact>
      </dl>
      <p className="caution">{STOP_CAUTION}</p>
    </div>
  );
}

function Fact({ label, children }: { readonly label: string; readonly children: ReactNode }) {
  return (
    <div className="band-fact">
      <dt>{label}</dt>
      <dd>{children}</dd>
    </div>
  );
}

/** The number that answers the question: what the stop has to spare, or by how much it falls short. */
function answerOf(report: BeamStopReport | undefined): ReactNode {
  const { margin_mm = null, margin_mm_sigma = null, margin_px = null } = report ?? {};
  if (margin_mm === null && margin_px === null) return <span className="unknown">margin not known</span>;
  const [value, unit] = margin_mm === null ? [margin_px ?? 0, "px"] : [margin_mm, "mm"];
  const known = margin_mm === null ? undefined : (margin_mm_sigma ?? undefined);
  const [number, sigma] = withSigma(Math.abs(value), known).split(" ± ");
  return (
    <>
      {number}
      <span className="unit">
        {sigma === undefined ? "" : `± ${sigma} `}
        {unit} {value < 0 ? "short" : "to spare"}
      </span>
    </>
  );
}

function offsetSigma({ offset_px_sigma }: BeamStopReport): number | undefined {
  return offset_px_sigma === null ? undefined : Math.max(...offset_px_sigma);
}

function shortQ(q: number | null | undefined): string {
  return q === null || q === undefined ? "–" : q.toPrecision(2);
}

/** "1.5 mm left, 1.1 mm up", as displayed. */
function moveInWords([right, up]: readonly [number, number]): string {
  const part = (value: number, positive: string, negative: string) =>
    `${Math.abs(value).toFixed(1)} mm ${value < 0 ? negative : positive}`;
  return `${part(right, "right", "left")}, ${part(up, "up", "down")}`;
}

import { useCurves } from "../app/application.ts";
import { Pick } from "../app/parts/pick.tsx";
import { Quantity } from "../app/parts/quantity.tsx";
import { type ChosenCurve, chosenPair } from "./curve-choices.ts";
import type { Look, LookFit } from "./curves-store.ts";
import { ResidualChart } from "./residual-chart.tsx";

const LOOKS: readonly { readonly value: Look; readonly label: string }[] = [
  { value: "none", label: "No fit" },
  { value: "guinier", label: "Guinier" },
  { value: "porod", label: "Power law" },
];

/** A law fitted to the first curve over the brushed range: its numbers, and how far the points lie from it. */
export function LookPart({ choices }: { readonly choices: readonly ChosenCurve[] }) {
  const state = useCurves((all) => all);
  const { one } = chosenPair(choices, state);
  const { fit, lookFault, look } = state;
  return (
    <section className="curves-part" aria-label="Fit a law">
      <div className="curves-part-head">
        <h3>Fit a law</h3>
        <Pick label="Law" value={look} options={LOOKS} onPick={(value) => state.set({ look: value })} narrow />
        {look !== "none" && <span className="curves-and">{one?.label}</span>}
      </div>
      {look === "none" && <p className="curves-hint">Choose a law, then drag over the curve to choose its range.</p>}
      {lookFault !== undefined && <p className="warning-line">{lookFault}</p>}
      {fit !== undefined && (
        <>
          <dl className="curves-facts">
            <FitNumbers fit={fit} unit={one?.unit ?? ""} />
          </dl>
          <ResidualChart q={fit.q} residuals={fit.residuals} />
          {fit.warnings.map((warning) => (
            <p key={warning} className="warning-line">
              {warning}
            </p>
          ))}
        </>
      )}
    </section>
  );
}

function FitNumbers({ fit, unit }: { readonly fit: LookFit; readonly unit: string }) {
  const common = (
    <Row label="χ²">
      <span className="quantity">{(fit.chi2 / fit.degreesOfFreedom).toPrecision(3)}</span>
    </Row>
  );
  if (fit.kind === "guinier")
    return (
      <>
        <Row label="Rg">
          <Quantity value={fit.rg} sigma={fit.rgSigma} unit="Å" />
        </Row>
        <Row label="I(0)">
          <Quantity value={fit.forwardIntensity} sigma={fit.forwardIntensitySigma} unit={unit} />
        </Row>
        <Row label="Q Rg to">
          <span className="quantity">{fit.qRgMax.toFixed(2)}</span>
        </Row>
        {common}
      </>
    );
  return (
    <>
      <Row label="Exponent">
        <Quantity value={fit.exponent} sigma={fit.exponentSigma} />
      </Row>
      <Row label="Constant">
        <Quantity value={fit.constant} sigma={fit.constantSigma} />
      </Row>
      {common}
    </>
  );
}

function Row({ label, children }: { readonly label: string; readonly children: React.ReactNode }) {
  return (
    <div>
      <dt>{label}</dt>
      <dd>{children}</dd>
    </div>
  );
}

import { MEANINGS, type Meaning } from "../../core/anisotropy/meanings.ts";
import { readable } from "../../core/model/numbers.ts";
import { Quantity } from "../app/parts/quantity.tsx";
import type { AnisotropyView, AnnulusAnswer, PlainMeasures } from "../worker/anisotropy-view.ts";
import { SectorBar } from "./sector-bar.tsx";

const DEGREE = Math.PI / 180;

/** Every measure of an annulus with the condition under which it means something, and what the odd harmonics say. */
export function MeasuresFacet({ answer }: { readonly answer: AnisotropyView }) {
  return (
    <div className="measures-facet">
      <SectorBar />
      {answer.annuli.map((annulus) => (
        <AnnulusTable key={annulus.id} annulus={annulus} />
      ))}
      {answer.centre && (
        <p className="measures-words">
          {answer.centre.isOff
            ? "The odd harmonics disprove the beam centre: it is off by "
            : "The odd harmonics agree with the beam centre: off by "}
          <Quantity value={answer.centre.dx} sigma={answer.centre.dxSigma} unit="px" /> in x and{" "}
          <Quantity value={answer.centre.dy} sigma={answer.centre.dySigma} unit="px" /> in y.
        </p>
      )}
      {answer.sectors && (
        <table className="measures-table">
          <caption>
            What a sector's half-width costs, along and across {readable(answer.sectors.axis / DEGREE)}°
          </caption>
          <thead>
            <tr>
              <th scope="col">Half-width</th>
              <th scope="col">Share of the counts</th>
              <th scope="col">Difference kept</th>
              <th scope="col">Sigma over the least</th>
            </tr>
          </thead>
          <tbody>
            {answer.sectors.costs.map((cost) => (
              <tr key={cost.halfWidth}>
                <td className="number">{readable(cost.halfWidth / DEGREE)}°</td>
                <td className="number">{cost.countsShare.toFixed(2)}</td>
                <td className="number">{cost.dilution.toFixed(2)}</td>
                <td className="number">{cost.relativeSigma.toFixed(2)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </div>
  );
}

function AnnulusTable({ annulus: { id, qMin, qMax, measures } }: { readonly annulus: AnnulusAnswer }) {
  return (
    <table className="measures-table">
      <caption>
        {id}: Q from {readable(qMin)} to {readable(qMax)} 1/Å
      </caption>
      <tbody>
        {measures === undefined ? (
          <tr>
            <td>Too few unmasked angles, or too little intensity.</td>
          </tr>
        ) : (
          rowsOf(measures).map(({ meaning, value, sigma }) => (
            <tr key={meaning.name}>
              <th scope="row">{meaning.name}</th>
              <td className="number">
                <Quantity value={value} sigma={sigma} />
              </td>
              <td className="measures-condition">{meaning.condition}</td>
            </tr>
          ))
        )}
      </tbody>
    </table>
  );
}

interface MeasureRow {
  readonly meaning: Meaning;
  readonly value: number | undefined;
  readonly sigma: number | undefined;
}

function rowsOf(measures: PlainMeasures): readonly MeasureRow[] {
  const { alignment, alignmentSigma, p2, p2Sigma, p2Rods, maierSaupe, sineSquared } = measures;
  const strength = (
    meaning: Meaning,
    one: { readonly value: number; readonly sigma: number } | undefined,
  ): MeasureRow => ({
    meaning,
    value: one?.value,
    sigma: one?.sigma,
  });
  return [
    { meaning: MEANINGS.alignment, value: alignment, sigma: alignmentSigma },
    { meaning: MEANINGS.p2, value: p2, sigma: p2Sigma },
    strength(MEANINGS.p2Rods, p2Rods),
    strength(MEANINGS.maierSaupeRods, maierSaupe.rods),
    strength(MEANINGS.maierSaupePattern, maierSaupe.pattern),
    {
      meaning: MEANINGS.direction,
      value: sineSquared && sineSquared.direction / DEGREE,
      sigma: sineSquared?.directionSigma === undefined ? undefined : sineSquared.directionSigma / DEGREE,
    },
    { meaning: MEANINGS.a, value: sineSquared?.a, sigma: sineSquared?.aSigma },
    { meaning: MEANINGS.b, value: sineSquared?.b, sigma: sineSquared?.bSigma },
  ];
}

import { type ReactNode, useState } from "react";
import type { CurveFormat } from "../../core/report/derived-curve.ts";
import { useApplication, useCurves } from "../app/application.ts";
import { Pick } from "../app/parts/pick.tsx";
import { Quantity } from "../app/parts/quantity.tsx";
import { SAVE_FORMATS } from "./curves-question.ts";
import type { MadeCurve, ShownFit } from "./curves-store.ts";

const FORMAT_NAMES: Readonly<Record<CurveFormat, string>> = {
  csv: "CSV",
  txt: "Text columns",
  xml: "canSAS XML",
  h5: "NXcanSAS",
};

/** What was made: how each curve was brought onto the first, and the ways to keep it. */
export function MadePart({ made }: { readonly made: MadeCurve }) {
  const { curves } = useApplication();
  const set = useCurves((state) => state.set);
  const [format, setFormat] = useState<CurveFormat>("csv");
  return (
    <>
      <div role="status">
        {made.fits.map((fit) => (
          <FitFacts key={fit.name} fit={fit} isNamed={made.fits.length > 1} unit={made.curve.unit} />
        ))}
        <p className="curves-result">{made.words}</p>
      </div>
      {made.warnings.map((warning) => (
        <p key={warning} className="warning-line">
          {warning}
        </p>
      ))}
      <div className="curves-actions">
        <Pick
          label="Format"
          value={format}
          options={SAVE_FORMATS.map((value) => ({ value, label: FORMAT_NAMES[value] }))}
          onPick={setFormat}
          narrow
        />
        <button type="button" className="text-button" onClick={() => void curves.save(format)}>
          Save it
        </button>
        <button type="button" className="text-button" onClick={() => set({ made: undefined })}>
          Let it go
        </button>
      </div>
    </>
  );
}

function FitFacts({
  fit,
  isNamed,
  unit,
}: {
  readonly fit: ShownFit;
  readonly isNamed: boolean;
  readonly unit: string;
}) {
  const { name, scale, constant, reducedChi2, shared } = fit;
  return (
    <dl className="curves-facts curves-fit" data-fit={name}>
      {isNamed && <dt className="curves-fit-name">{name}</dt>}
      <Fact label="Scale">
        <Quantity value={scale.value} sigma={scale.sigma} />
      </Fact>
      {constant !== undefined && (
        <Fact label="Constant">
          <Quantity value={constant.value} sigma={constant.sigma} unit={unit === "not known" ? "" : unit} />
        </Fact>
      )}
      <Fact label="Reduced χ²">
        <span className="quantity">{reducedChi2.toPrecision(3)}</span>
      </Fact>
      <Fact label="Shared points">
        <span className="quantity">{shared}</span>
      </Fact>
    </dl>
  );
}

function Fact({ label, children }: { readonly label: string; readonly children: ReactNode }) {
  return (
    <div>
      <dt>{label}</dt>
      <dd>{children}</dd>
    </div>
  );
}

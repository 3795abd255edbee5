import { Download, X } from "lucide-react";
import { type ReactNode, useState } from "react";
import type { CurveFormat } from "../../core/report/derived-curve.ts";
import { useApplication, useCurves } from "../app/application.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
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

/** The ways to keep what was made, or to be rid of it. */
export function MadeActions() {
  const { curves } = useApplication();
  const set = useCurves((state) => state.set);
  const [format, setFormat] = useState<CurveFormat>("csv");
  return (
    <div className="curves-made-actions">
      <Pick
        label="Format"
        value={format}
        options={SAVE_FORMATS.map((value) => ({ value, label: FORMAT_NAMES[value] }))}
        onPick={setFormat}
        narrow
      />
      <IconButton icon={Download} label="Save it" onClick={() => void curves.save(format)} />
      <IconButton icon={X} label="Let it go" onClick={() => set({ made: undefined })} />
    </div>
  );
}

/** What was made: how each curve was brought onto the first, and how well it is known. */
export function MadePart({ made: { fits, words, warnings, curve } }: { readonly made: MadeCurve }) {
  return (
    <>
      <div role="status">
        {fits.map((fit) => (
          <FitFacts key={fit.name} fit={fit} isNamed={fits.length > 1} unit={curve.unit} />
        ))}
        <p className="curves-result">{words}</p>
      </div>
      {warnings.map((warning) => (
        <p key={warning} className="warning-line">
          {warning}
        </p>
      ))}
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
      {isNamed && (
        <Fact label="Curve">
          <span className="curves-fit-name">{name}</span>
        </Fact>
      )}
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

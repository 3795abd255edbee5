import type { ReactNode } from "react";
import { readable } from "../../core/model/numbers.ts";
import { StopBand } from "../beam-stop/stop-band.tsx";
import type { ReductionView } from "../worker/protocol.ts";
import { useApplication, useDocument, useResults } from "./application.ts";
import { runCommand } from "./commands.ts";
import { Quantity } from "./parts/quantity.tsx";

/** The numbers that decide the question on show. */
export function QuestionBand() {
  const question = useDocument(({ view }) => view.question);
  const reduction = useResults((state) => state.reduction);
  if (reduction === undefined) return null;
  switch (question) {
    case "beam-stop":
      return <StopBand />;
    case "anisotropy":
      return <AnisotropyNumbers reduction={reduction} />;
    case "curves":
      return <CurveNumbers reduction={reduction} />;
  }
}

function Fact({ label, children }: { readonly label: string; readonly children: ReactNode }) {
  return (
    <div className="band-fact">
      <dt>{label}</dt>
      <dd>{children}</dd>
    </div>
  );
}

function AnisotropyNumbers({ reduction }: { readonly reduction: ReductionView }) {
  const application = useApplication();
  const [profile] = reduction.profiles;
  const answer = useResults(({ anisotropy }) => anisotropy);
  if (profile === undefined)
    return (
      <div className="question-band">
        <p className="band-words">An annulus collects the counts of a ring around the beam, bin by bin of azimuth.</p>
        <button type="button" className="main-button" onClick={() => runCommand("add-annulus", application)}>
          Add an annulus
        </button>
      </div>
    );
  const annulus = answer?.serial === reduction.serial ? answer.annuli.find(({ id }) => id === profile.id) : undefined;
  const measures = annulus?.measures;
  return (
    <div className="question-band">
      <dl className="band-facts">
        <Fact label="Axis of strongest scattering">
          <Quantity value={degrees(measures?.axis)} sigma={degrees(measures?.axisSigma)} unit="°" />
        </Fact>
        <Fact label="Alignment factor">
          <Quantity value={measures?.alignment} sigma={measures?.alignmentSigma} />
        </Fact>
        <Fact label="P2">
          <Quantity value={measures?.p2} sigma={measures?.p2Sigma} />
        </Fact>
        <Fact label="Chance if isotropic">
          <Chance value={measures?.pIsotropic} />
        </Fact>
        <Fact label={profile.id}>
          <span className="quantity">
            {readable(profile.qMin)}–{readable(profile.qMax)}
            <span className="unit">1/Å</span>
          </span>
        </Fact>
      </dl>
    </div>
  );
}

/** Below this a chance is as good as none, and its digits say nothing. */
const NO_CHANCE = 1e-6;

function Chance({ value }: { readonly value: number | undefined }) {
  if (value !== undefined && value < NO_CHANCE) return <span className="quantity">below {NO_CHANCE}</span>;
  return <Quantity value={value} />;
}

function degrees(angle: number | undefined): number | undefined {
  return angle === undefined ? undefined : (angle * 180) / Math.PI;
}

function CurveNumbers({ reduction }: { readonly reduction: ReductionView }) {
  const { transmission, beamCentre, unit, curves } = reduction;
  const [first] = curves;
  return (
    <div className="question-band">
      <dl className="band-facts">
        <Fact label="Centre, x">
          <Quantity value={beamCentre.x} sigma={beamCentre.xSigma} unit="px" />
        </Fact>
        <Fact label="Centre, y">
          <Quantity value={beamCentre.y} sigma={beamCentre.ySigma} unit="px" />
        </Fact>
        <Fact label="Transmission of the sample">
          {transmission.sample === undefined ? (
            <span className="quantity unknown">not applied</span>
          ) : (
            <Quantity value={transmission.sample.value} sigma={transmission.sample.sigma} />
          )}
        </Fact>
        <Fact label="Points">
          <span className="quantity">{first?.q.length ?? 0}</span>
        </Fact>
        <Fact label="Intensity in">
          <span className="quantity">{unit}</span>
        </Fact>
      </dl>
    </div>
  );
}

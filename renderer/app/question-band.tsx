import type { ReactNode } from "react";
import { readable } from "../../core/report/numbers.ts";
import { stopOffset } from "../state/stop-offset.ts";
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
      return <StopNumbers reduction={reduction} />;
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

function lowestQ({ curves }: ReductionView): number | undefined {
  return curves.find(({ kind }) => kind === "radial")?.q[0];
}

function StopNumbers({ reduction }: { readonly reduction: ReductionView }) {
  const { beamStop, beamCentre, geometry } = reduction;
  const offset = beamStop === undefined ? undefined : stopOffset(beamStop, beamCentre, geometry);
  return (
    <div className="question-band">
      <dl className="band-facts">
        <Fact label="Stop from beam, to the right">
          <Quantity value={offset?.right_mm.value} sigma={offset?.right_mm.sigma} unit="mm" />
        </Fact>
        <Fact label="Stop from beam, upwards">
          <Quantity value={offset?.up_mm.value} sigma={offset?.up_mm.sigma} unit="mm" />
        </Fact>
        {beamStop?.shape === "circle" && (
          <Fact label="Stop radius">
            <Quantity value={beamStop.radius} sigma={beamStop.radiusSigma} unit="px" />
          </Fact>
        )}
        {beamStop?.shape === "rectangle" && (
          <Fact label="Stop size">
            <span className="quantity">
              {beamStop.width.toFixed(1)} × {beamStop.height.toFixed(1)}
              <span className="unit">px</span>
            </span>
          </Fact>
        )}
        <Fact label="Lowest Q on the curve">
          <Quantity value={lowestQ(reduction)} unit="1/Å" />
        </Fact>
      </dl>
      <p className="caution">
        An aid for alignment, not a protection system: interlocks, shutters and radiation safety follow the facility's
        rules and its trained staff.
      </p>
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
          <Quantity value={measures?.pIsotropic} />
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

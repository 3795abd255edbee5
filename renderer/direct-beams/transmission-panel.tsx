import "./direct-beams.css";
import { FolderOpen, RotateCcw } from "lucide-react";
import { type ReactElement, type ReactNode, useRef } from "react";
import { readable } from "../../core/model/numbers.ts";
import { useApplication, useDocument, useResults } from "../app/application.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import { NumberBox } from "../app/parts/number-box.tsx";
import { Quantity } from "../app/parts/quantity.tsx";
import { Section } from "../app/parts/section.tsx";
import { faultInWords, planKeysInWords, ROLE_LABELS } from "../state/plan-words.ts";
import type { DragPhase } from "../view-types.ts";
import { BEAM_ROLES, type BeamRole, type DirectBeamView } from "../worker/direct-beam-view.ts";
import { type BeamNumbers, beamNumbers, type ShownTransmission } from "./beam-numbers.ts";
import { BeamTile } from "./beam-tile.tsx";
import { useDirectBeams } from "./use-direct-beams.ts";

/** The picture reaches so many radii of the spot or of the circle from its middle, and at least so many px. */
const REACH = 1.35;
const LEAST_HALF = 8;

const WANTED: Readonly<Record<BeamRole, string>> = {
  emptyBeam: "The direct beam with nothing in it: every transmission is relative to it, and so is the absolute scale.",
  sampleTransmission: "The direct beam through the sample in its cell: with it the sample's transmission is measured.",
  emptyCellTransmission: "The direct beam through the empty cell: with it the cell's transmission is measured.",
};

/** Direct beams side by side: where each was summed, what was counted, and what comes of it. */
export function TransmissionPanel(): ReactElement | null {
  const plan = useDocument(({ history }) => history?.present.plan);
  const steps = useResults(({ reduction }) => reduction?.ledger.steps);
  const { beams, fault } = useDirectBeams();
  if (plan === undefined)
    return <p className="teach">Direct beams through sample, cell and nothing will stand here with what they give.</p>;
  const hasCell = plan.runs.emptyCell !== undefined;
  const missing = BEAM_ROLES.filter(
    (role) => plan.runs[role] === undefined && (role !== "emptyCellTransmission" || hasCell),
  );
  return (
    <>
      <Results numbers={beamNumbers(steps ?? [])} hasCell={hasCell} beams={beams} />
      <Section title="Direct beams">
        {fault !== undefined && <p className="teach fault-text">{faultInWords(fault)}</p>}
        <ul className="beam-tiles" aria-label="Direct beams">
          <Tiles beams={beams ?? []} numbers={beamNumbers(steps ?? [])} />
          {missing.map((role) => (
            <MissingBeam key={role} role={role} />
          ))}
        </ul>
      </Section>
    </>
  );
}

function Results({
  numbers,
  hasCell,
  beams,
}: {
  readonly numbers: BeamNumbers;
  readonly hasCell: boolean;
  readonly beams: readonly DirectBeamView[] | undefined;
}): ReactElement {
  const { document } = useApplication();
  const { scale, circle, normalisedBy, warnings } = numbers;
  const open = beams?.find(({ role }) => role === "emptyBeam")?.shown;
  const found = open?.ok === true && open.value.spot.ok ? open.value.spot.value.radius : undefined;
  const set = (radius_px: number | undefined) => document.getState().act({ type: "set-beam-radius", radius_px });
  const planned = useRadiusOfPlan();
  return (
    <Section title="Transmission">
      <Row label="Of the sample" note={sourceOf(numbers.sample)}>
        <Quantity value={numbers.sample?.value} sigma={numbers.sample?.sigma} />
      </Row>
      {hasCell && (
        <Row label="Of the empty cell" note={sourceOf(numbers.emptyCell)}>
          <Quantity value={numbers.emptyCell?.value} sigma={numbers.emptyCell?.sigma} />
        </Row>
      )}
      <Row
        label="Empty beam, K"
        note={`counts per ${normalisedBy === "time" ? "second" : "monitor count"}, of the absolute scale`}
      >
        {scale === undefined ? (
          <span className="quantity unknown">not used</span>
        ) : (
          <Quantity value={scale.value} sigma={scale.sigma} />
        )}
      </Row>
      <div className="row">
        <NumberBox
          label="Radius"
          fullLabel="Radius of the direct beam"
          value={circle === undefined ? undefined : (planned ?? circle.radius)}
          unit="px"
          placeholder="not used"
          disabled={circle === undefined}
          allows={(radius) => radius > 0}
          onChange={set}
          onClear={() => set(undefined)}
        />
        <IconButton
          icon={RotateCcw}
          label="Radius found by itself"
          hint={found === undefined ? "Radius found by itself" : `Found by itself: ${readable(found)} px`}
          disabled={planned === undefined}
          onClick={() => set(undefined)}
        />
      </div>
      <p className="teach">
        {circle === undefined
          ? "No direct beam is summed: the transmissions are given, or not applied."
          : "Drag the circle: it should hold the whole beam, and no more scattering than it must."}
      </p>
      {scale?.radius !== undefined && circle !== undefined && scale.radius !== circle.radius && (
        <p className="warning-line">{`The absolute scale sums within ${readable(scale.radius)} px.`}</p>
      )}
      {warnings.map((warning) => (
        <p key={warning} className="warning-line">
          {planKeysInWords(warning)}
        </p>
      ))}
    </Section>
  );
}

/** The radius that the plan asks for: known at once, while the ledger's is that of the last reduction. */
function useRadiusOfPlan(): number | undefined {
  return useDocument(({ history }) => {
    const { absolute, transmission } = history?.present.plan.corrections ?? {};
    const own = typeof transmission === "object" ? transmission.radius_px : undefined;
    return (
      own ??
      (typeof absolute === "object" && absolute.method === "direct-beam" ? absolute.directBeamRadius_px : undefined)
    );
  });
}

function Tiles({
  beams,
  numbers,
}: {
  readonly beams: readonly DirectBeamView[];
  readonly numbers: BeamNumbers;
}): ReactElement {
  const { document } = useApplication();
  const { palette, seenFromSample } = useDocument(({ view }) => view);
  const geometry = useResults(({ reduction }) => reduction?.geometry);
  const isDragged = useDocument(({ history }) => history?.gesture === GESTURE);
  const planned = useRadiusOfPlan();
  const circle = numbers.circle && { ...numbers.circle, radius: planned ?? numbers.circle.radius };
  const spots = beams.flatMap(({ shown }) => (shown.ok && shown.value.spot.ok ? [shown.value.spot.value.radius] : []));
  const wanted = Math.max(LEAST_HALF, REACH * Math.max(circle?.radius ?? 0, ...spots));
  // A picture that grew under the hand would carry the circle's edge away from it.
  const half = useRef(wanted);
  if (!isDragged) half.current = wanted;
  const change = (radius: number, phase: DragPhase) => {
    document.getState().act({ type: "set-beam-radius", radius_px: radius }, GESTURE);
    if (phase === "end") document.getState().endGesture();
  };
  return (
    <>
      {beams.map((view) => (
        <BeamTile
          key={view.role}
          view={view}
          counts={numbers.beams[view.role]}
          normalisedBy={numbers.normalisedBy}
          circle={circle}
          half={half.current}
          palette={palette}
          pixelAspect={geometry === undefined ? 1 : geometry.pixelSizeY / geometry.pixelSizeX}
          seenFromSample={seenFromSample}
          onRadius={change}
        />
      ))}
    </>
  );
}

const GESTURE = "beam-radius";

function MissingBeam({ role }: { readonly role: BeamRole }): ReactElement {
  const { opening } = useApplication();
  return (
    <li className="beam-tile missing" data-role={role}>
      <h3 className="beam-name">{ROLE_LABELS[role]}</h3>
      <p className="beam-wanted">{WANTED[role]}</p>
      <IconButton
        icon={FolderOpen}
        label={`Load ${ROLE_LABELS[role].toLowerCase()}`}
        onClick={() => void opening.pickFor(role)}
      >
        Load it
      </IconButton>
    </li>
  );
}

function Row({
  label,
  note,
  children,
}: {
  readonly label: string;
  readonly note: string;
  readonly children: ReactNode;
}) {
  return (
    <div className="beam-result">
      <span>{label}</span>
      {children}
      <span className="beam-source">{note}</span>
    </div>
  );
}

function sourceOf(found: ShownTransmission | undefined): string {
  if (found === undefined) return "not applied";
  return found.isMeasured ? "measured" : `given: ${planKeysInWords(found.from)}`;
}

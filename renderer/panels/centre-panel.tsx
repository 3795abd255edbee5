import { readable } from "../../core/model/numbers.ts";
import { beamCentreOf } from "../../core/plan/defaults.ts";
import { type PlanBeamCentre, RUN_ROLES } from "../../core/plan/plan.ts";
import { useApplication, useDocument, useResults } from "../app/application.ts";
import { NumberBox } from "../app/parts/number-box.tsx";
import { Pick } from "../app/parts/pick.tsx";
import { Section } from "../app/parts/section.tsx";
import { ROLE_LABELS } from "../state/plan-words.ts";

const METHODS = [
  { value: "given" as const, label: "Given by file, plan or hand" },
  { value: "direct-beam" as const, label: "Spot of the direct beam" },
  { value: "symmetry" as const, label: "Symmetry of the scattering" },
  { value: "rings" as const, label: "Rings of known spacing" },
];
/** Silver behenate, the usual calibrant; d(001) in angstrom as common practice gives it. */
const USUAL_SPACING_A = 58.38;

export function CentrePanel() {
  const { document } = useApplication();
  const plan = useDocument(({ history }) => history?.present.plan);
  const found = useResults(({ reduction }) => reduction?.beamCentre);
  if (plan === undefined) return null;
  const centre = beamCentreOf(plan);
  const act = (beamCentre: PlanBeamCentre) => document.getState().act({ type: "choose-centre-method", beamCentre });
  const move = (x: number, y: number) => document.getState().act({ type: "move-centre", x, y });
  const dragged = plan.metadata?.all?.["beamCentre_px"];
  const given = centre.method === "given" && Array.isArray(dragged) ? { x: dragged[0], y: dragged[1] } : found;

  return (
    <Section title="Beam centre">
      <Pick
        label="How the centre is found"
        value={centre.method}
        options={METHODS}
        onPick={(method) => act(method === "rings" ? { method, dSpacing_A: USUAL_SPACING_A } : { method })}
      />
      {centre.method === "rings" && (
        <div className="row">
          <NumberBox
            label="Spacing of the rings"
            value={centre.dSpacing_A}
            unit="Å"
            allows={(value) => value > 0}
            onChange={(dSpacing_A) => act({ method: "rings", dSpacing_A })}
          />
        </div>
      )}
      <div className="row pair-row">
        <NumberBox
          label="x"
          fullLabel="Centre, x"
          value={given?.x}
          onChange={(x) => given !== undefined && move(x, given.y)}
          disabled={given === undefined}
        />
        <NumberBox
          label="y"
          fullLabel="Centre, y"
          value={given?.y}
          unit="px"
          onChange={(y) => given !== undefined && move(given.x, y)}
          disabled={given === undefined}
        />
      </div>
      {found?.xSigma !== undefined && found.ySigma !== undefined && (
        <div className="row sigma-row">
          <span className="row-note">One standard deviation</span>
          <span className="quantity">
            {readable(Number(found.xSigma.toPrecision(2)))}, {readable(Number(found.ySigma.toPrecision(2)))}
            <span className="unit">px</span>
          </span>
        </div>
      )}
      <p className="teach">
        {found === undefined ? "The centre is not known yet." : `From ${sourceInWords(found.from)}. `}
        Drag the cross in the frame, or move it with the arrow keys.
      </p>
    </Section>
  );
}

/** "runs.emptyBeam": "the empty beam". Anything else is a path in a file, or words. */
function sourceInWords(from: string): string {
  const role = RUN_ROLES.find((key) => from === `runs.${key}`);
  return role === undefined ? from : `the ${ROLE_LABELS[role].toLowerCase()}`;
}

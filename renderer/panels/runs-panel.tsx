import { Menu } from "@base-ui/react/menu";
import { ChevronDown, CircleDashed, FileWarning, LoaderCircle, Plus } from "lucide-react";
import { memo } from "react";
import { RUN_ROLES, type RunRole } from "../../core/plan/plan.ts";
import { useApplication, useDocument, useResults } from "../app/application.ts";
import { runCommand } from "../app/commands.ts";
import { Hint } from "../app/parts/hint.tsx";
import { IconButton } from "../app/parts/icon-button.tsx";
import { Pick } from "../app/parts/pick.tsx";
import { Section } from "../app/parts/section.tsx";
import { useKeys } from "../keys/use-keys.ts";
import { isCurveFile } from "../state/beside-curve.ts";
import type { PlanFile } from "../state/plan-file.ts";
import { referencePath, roleOf, runsOf, samplesOf } from "../state/plan-reading.ts";
import { faultInWords, ROLE_LABELS } from "../state/plan-words.ts";
import type { RunState } from "../state/results-store.ts";

type RoleChoice = RunRole | "none";
const ROLE_OPTIONS = [
  ...RUN_ROLES.map((role) => ({ value: role as RoleChoice, label: ROLE_LABELS[role] })),
  { value: "none" as const, label: "No role" },
];

/** The runs of the document with their roles; choosing one shows its numbers, choosing a sample shows its frame too. */
export function RunsPanel() {
  const application = useApplication();
  const keysOf = useKeys();
  const tree = useDocument(({ history }) => history?.present);
  const sampleIndex = useDocument(({ view }) => view.sampleIndex);
  const selectedRun = useDocument(({ view }) => view.selectedRun);
  const runs = useResults((state) => state.runs);
  const add = (
    <IconButton
      icon={Plus}
      label="Add a run"
      hint="Open a frame or a plan"
      keys={keysOf("open")}
      onClick={() => runCommand("open", application)}
    />
  );
  if (tree === undefined)
    return (
      <Section title="Runs" aside={add}>
        <p className="teach">
          A run is one detector frame. Open the frame of a sample first; empty cell, blocked beam, direct beam and flood
          can follow, each with its role.
        </p>
      </Section>
    );

  const { plan, files } = tree;
  const samples = samplesOf(plan).map(referencePath);
  const inPlan = runsOf(plan).map(({ reference }) => referencePath(reference));
  const others = Object.keys(files).filter(
    (path) => !inPlan.includes(path) && path !== plan.mask?.file && !isCurveFile(files[path]),
  );
  const shown = selectedRun ?? samples[sampleIndex];

  return (
    <Section title="Runs" aside={add}>
      <PlanChoice />
      <ul className="runs" aria-label="Runs">
        {[...inPlan, ...others].map((path) => (
          <RunRow
            key={path}
            path={path}
            file={files[path]}
            role={roleOf(plan, path)}
            state={runs[path]}
            isSelected={path === shown}
            isOnShow={path === samples[sampleIndex]}
            isOnlySample={samples.length === 1 && samples[0] === path}
          />
        ))}
      </ul>
    </Section>
  );
}

/** The plans of the sample experiment; nothing where the window was opened on files. */
function PlanChoice() {
  const { opening } = useApplication();
  const plans = useResults((state) => state.plans);
  const title = useDocument(({ history }) => history?.present.plan.title);
  if (plans.length < 2) return null;
  return (
    <Menu.Root>
      <Menu.Trigger className="pick plan-choice">
        <span className="pick-value">{title ?? "Plans"}</span>
        <ChevronDown className="pick-arrow" size={14} aria-hidden />
      </Menu.Trigger>
      <Menu.Portal>
        <Menu.Positioner className="floating-positioner" sideOffset={4}>
          <Menu.Popup className="menu">
            {plans.map((plan) => (
              <Menu.Item key={plan.token} className="menu-item" onClick={() => void opening.openPlan(plan)}>
                {plan.name}
              </Menu.Item>
            ))}
          </Menu.Popup>
        </Menu.Positioner>
      </Menu.Portal>
    </Menu.Root>
  );
}

/** Drawn again only where its own run changed: a drag changes the plan at every step. */
const RunRow = memo(function RunRow({
  path,
  file,
  role,
  state,
  isSelected,
  isOnShow,
  isOnlySample,
}: {
  readonly path: string;
  readonly file: PlanFile | undefined;
  readonly role: RunRole | undefined;
  readonly state: RunState | undefined;
  readonly isSelected: boolean;
  readonly isOnShow: boolean;
  readonly isOnlySample: boolean;
}) {
  const { document } = useApplication();
  const select = () => {
    const { history, show } = document.getState();
    if (history === undefined) return;
    const place = samplesOf(history.present.plan).map(referencePath).indexOf(path);
    show(place >= 0 ? { selectedRun: undefined, sampleIndex: place } : { selectedRun: path });
  };
  const setRole = (next: RoleChoice) =>
    document.getState().act({ type: "set-role", path, role: next === "none" ? undefined : next });

  return (
    <li className={isSelected ? "run selected" : "run"}>
      <Hint text={hintOf(path, file, state)}>
        <button type="button" className="run-name" aria-current={isSelected ? "true" : undefined} onClick={select}>
          <RunIcon state={state} isOnShow={isOnShow} />
          <span className="run-file">{file?.name ?? path}</span>
        </button>
      </Hint>
      <Pick
        label={`Role of ${file?.name ?? path}`}
        value={role ?? "none"}
        options={isOnlySample ? ROLE_OPTIONS.filter(({ value }) => value === "sample") : ROLE_OPTIONS}
        onPick={setRole}
        narrow
      />
    </li>
  );
});

function RunIcon({ state, isOnShow }: { readonly state: RunState | undefined; readonly isOnShow: boolean }) {
  if (state === undefined || state.status === "reading")
    return <LoaderCircle className="run-icon" size={14} aria-label="being read" />;
  if (state.status === "fault") return <FileWarning className="run-icon fault" size={14} aria-label="can't be read" />;
  return isOnShow ? (
    <span className="run-dot" aria-hidden />
  ) : (
    <CircleDashed className="run-icon quiet" size={12} aria-hidden />
  );
}

function hintOf(path: string, file: PlanFile | undefined, state: RunState | undefined): string {
  if (state?.status === "fault") return faultInWords(state.fault);
  const place = file?.label ?? path;
  if (state?.status !== "ready") return place;
  const [bank] = state.run.banks;
  const size =
    bank === undefined ? "" : `, ${bank.width} × ${bank.height}${bank.frames > 1 ? `, ${bank.frames} frames` : ""}`;
  return `${place}: ${state.run.formatTitle}${size}`;
}

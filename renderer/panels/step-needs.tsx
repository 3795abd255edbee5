import type { LedgerEntry } from "../../core/model/ledger.ts";
import { RUN_ROLES } from "../../core/plan/plan.ts";
import { useApplication } from "../app/application.ts";
import { runCommand } from "../app/commands.ts";
import { ROLE_LABELS } from "../state/plan-words.ts";

/** What a step that was left out for want of something would need, and the way to give it. */
export function StepNeeds({ entry: { status, reason = "" } }: { readonly entry: LedgerEntry }) {
  const application = useApplication();
  if (status === "applied") return null;
  const role = RUN_ROLES.find((name) => reason.includes(`runs.${name}`));
  if (role === undefined) return null;
  const label = ROLE_LABELS[role].toLowerCase();
  return (
    <p className="step-needs">
      It needs a run in the role “{label}”: open the file, then choose its role in the list of runs.{" "}
      <button type="button" className="text-button" onClick={() => runCommand("open", application)}>
        Open a run
      </button>
    </p>
  );
}

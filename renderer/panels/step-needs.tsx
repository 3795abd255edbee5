import { FolderOpen } from "lucide-react";
import type { LedgerEntry } from "../../core/model/ledger.ts";
import { RUN_ROLES } from "../../core/plan/plan.ts";
import { useApplication } from "../app/application.ts";
import { MissingNumberFields } from "../app/missing-number-fields.tsx";
import { IconButton } from "../app/parts/icon-button.tsx";
import { ROLE_LABELS } from "../state/plan-words.ts";

/** What a step that was left out for want of something would need, and the way to give it. */
export function StepNeeds({ entry: { status, reason = "" } }: { readonly entry: LedgerEntry }) {
  const { opening } = useApplication();
  if (status === "applied" || /^switched off/.test(reason)) return null;
  const role = RUN_ROLES.find((name) => new RegExp(`runs\\.${name}\\b`).test(reason));
  if (role === undefined) return <MissingNumberFields fault={{ code: "missing", message: reason }} />;
  const label = ROLE_LABELS[role].toLowerCase();
  return (
    <div className="step-needs">
      <p>{`It needs a run in the role “${label}”.`}</p>
      <IconButton icon={FolderOpen} label={`Load ${label}`} onClick={() => void opening.pickFor(role)}>
        {`Load ${label}`}
      </IconButton>
    </div>
  );
}

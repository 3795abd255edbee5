import { Info, TriangleAlert, X } from "lucide-react";
import { faultInWords } from "../state/plan-words.ts";
import { useApplication, useResults } from "./application.ts";
import { MissingNumberFields } from "./missing-number-fields.tsx";
import { IconButton } from "./parts/icon-button.tsx";

/** What went wrong or was done, in sentences. Faults of the plan stay as long as the plan has them. */
export function Notices() {
  const { results } = useApplication();
  const notices = useResults((state) => state.notices);
  const fault = useResults((state) => state.fault);
  if (notices.length === 0 && fault === undefined) return null;
  return (
    <div className="notices" role="status">
      {fault !== undefined && (
        <div className="notice fault" data-notice="plan">
          <TriangleAlert size={16} aria-hidden />
          <span className="notice-words">{sentence(faultInWords(fault))}</span>
          <MissingNumberFields fault={fault} />
        </div>
      )}
      {notices.map(({ id, tone, text }) => (
        <p key={id} className={`notice ${tone}`}>
          {tone === "fault" ? <TriangleAlert size={16} aria-hidden /> : <Info size={16} aria-hidden />}
          <span className="notice-words">{sentence(text)}</span>
          <IconButton icon={X} label="Put away" onClick={() => results.getState().dismiss(id)} />
        </p>
      ))}
    </div>
  );
}

function sentence(text: string): string {
  // A file's or a key's name keeps its small letter.
  const begun = /^[a-z]+ /.test(text) ? text.charAt(0).toUpperCase() + text.slice(1) : text;
  return /[.!?]$/.test(begun) ? begun : `${begun}.`;
}

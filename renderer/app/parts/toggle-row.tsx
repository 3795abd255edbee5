import { Switch } from "@base-ui/react/switch";
import type { ReactNode } from "react";

/** A line with a switch at its end. */
export function ToggleRow({
  label,
  note,
  on,
  onChange,
  disabled = false,
}: {
  readonly label: string;
  readonly note?: ReactNode;
  readonly on: boolean;
  readonly onChange: (on: boolean) => void;
  readonly disabled?: boolean;
}) {
  return (
    <div className="row toggle-row">
      <span className="row-words">
        {label}
        {note !== undefined && <span className="row-note">{note}</span>}
      </span>
      <Switch.Root className="switch" aria-label={label} checked={on} onCheckedChange={onChange} disabled={disabled}>
        <Switch.Thumb className="switch-thumb" />
      </Switch.Root>
    </div>
  );
}

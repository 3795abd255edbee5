import "../fields.css";
import { Input } from "@base-ui/react/input";
import { useState } from "react";

/** A word to edit, in a line with its label. It takes effect on Enter or when the field is left; Escape takes it back. */
export function TextBox({
  label,
  value,
  placeholder,
  onChange,
  fullLabel = label,
}: {
  readonly label: string;
  /** In place of the label, where the label alone doesn't say enough. */
  readonly fullLabel?: string;
  readonly value: string;
  readonly placeholder?: string;
  readonly onChange: (value: string) => void;
}) {
  const [draft, setDraft] = useState<string>();
  const commit = () => {
    setDraft(undefined);
    if (draft !== undefined && draft.trim() !== value) onChange(draft.trim());
  };
  return (
    <div className="row">
      <span className="field-label" aria-hidden>
        {label}
      </span>
      <Input
        className="number-input text-input"
        aria-label={fullLabel}
        spellCheck={false}
        autoComplete="off"
        value={draft ?? value}
        placeholder={placeholder}
        onValueChange={setDraft}
        onBlur={commit}
        onKeyDown={(event) => {
          if (event.key === "Enter") event.currentTarget.blur();
          if (event.key !== "Escape" || draft === undefined) return;
          event.stopPropagation();
          setDraft(undefined);
        }}
      />
    </div>
  );
}

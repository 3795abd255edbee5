import { Input } from "@base-ui/react/input";
import { useState } from "react";

/** A number as a person writes it: "0,5" and "2e-6" too. Undefined where it is none. */
export function readNumber(text: string): number | undefined {
  const trimmed = text.trim().replace(",", ".");
  if (trimmed === "") return undefined;
  const value = Number(trimmed);
  return Number.isFinite(value) ? value : undefined;
}

/** At most seven digits: what is edited by hand needs no more, and a dragged centre would show sixteen. */
function written(value: number | undefined): string {
  return value === undefined ? "" : String(Number(value.toPrecision(7)));
}

/**
 * A number to edit. It takes effect on Enter or when the field is left; Escape gives the old one back. A text that is no
 * number, or that `allows` refuses, changes nothing and is marked.
 */
export function NumberBox({
  label,
  value,
  unit,
  placeholder,
  onChange,
  allows = () => true,
  onClear,
  disabled = false,
  hideLabel = false,
  fullLabel = label,
  read = readNumber,
}: {
  readonly label: string;
  readonly value: number | undefined;
  readonly unit?: string;
  readonly placeholder?: string | undefined;
  readonly onChange: (value: number) => void;
  readonly allows?: (value: number) => boolean;
  /** What an emptied field means; absent: nothing. */
  readonly onClear?: (() => void) | undefined;
  readonly disabled?: boolean;
  readonly hideLabel?: boolean;
  /** In place of the label, where the label alone doesn't say enough: "Centre, x". */
  readonly fullLabel?: string;
  /** How a text is understood, where it may be more than a number: with a unit. */
  readonly read?: (text: string) => number | undefined;
}) {
  const [draft, setDraft] = useState<string>();
  const shown = draft ?? written(value);
  const parsed = read(shown);
  const wrong = draft !== undefined && draft.trim() !== "" && (parsed === undefined || !allows(parsed));

  const commit = () => {
    if (draft === undefined) return;
    setDraft(undefined);
    if (draft.trim() === "") {
      if (value !== undefined) onClear?.();
      return;
    }
    if (parsed !== undefined && allows(parsed) && shown !== written(value)) onChange(parsed);
  };

  return (
    <div className="number-box">
      {!hideLabel && (
        <span className="field-label" aria-hidden>
          {label}
        </span>
      )}
      <Input
        className="number-input"
        aria-label={fullLabel}
        inputMode="decimal"
        spellCheck={false}
        autoComplete="off"
        value={shown}
        placeholder={placeholder}
        disabled={disabled}
        aria-invalid={wrong || undefined}
        onValueChange={setDraft}
        onBlur={commit}
        onKeyDown={(event) => {
          if (event.key === "Enter") event.currentTarget.blur();
          if (event.key === "Escape" && draft !== undefined) {
            event.stopPropagation();
            setDraft(undefined);
          }
        }}
      />
      {unit !== undefined && <span className="unit">{unit}</span>}
    </div>
  );
}

import "../fields.css";
import { useState } from "react";
import { readNumber } from "./number-box.tsx";

/** Numbers as a person writes them in a row: "0.01 0.02; 0.03" too. Undefined where one of them is none. */
export function readNumbers(text: string): readonly number[] | undefined {
  const words = text.split(/[\s;]+/).filter((word) => word !== "");
  const numbers = words.map((word) => readNumber(word.replace(/,$/, "")));
  return numbers.every((value) => value !== undefined) ? numbers : undefined;
}

/** A list of numbers to edit; it takes effect when the field is left. What `allows` refuses changes nothing. */
export function NumbersBox({
  label,
  values,
  hint,
  allows,
  onChange,
}: {
  readonly label: string;
  readonly values: readonly number[];
  /** What is allowed, said where something else stands. */
  readonly hint: string;
  readonly allows: (values: readonly number[]) => boolean;
  readonly onChange: (values: readonly number[]) => void;
}) {
  const written = values.map((value) => String(Number(value.toPrecision(7)))).join(" ");
  const [draft, setDraft] = useState<string>();
  const parsed = draft === undefined ? values : readNumbers(draft);
  const wrong = parsed === undefined || !allows(parsed);
  const commit = () => {
    if (draft === undefined || wrong) return;
    setDraft(undefined);
    if (draft !== written) onChange(parsed);
  };
  return (
    <div className="numbers-box">
      <textarea
        className="number-input numbers-input"
        aria-label={label}
        aria-invalid={wrong || undefined}
        rows={3}
        spellCheck={false}
        value={draft ?? written}
        onChange={(event) => setDraft(event.currentTarget.value)}
        onBlur={commit}
        onKeyDown={(event) => {
          if (event.key !== "Escape" || draft === undefined) return;
          event.stopPropagation();
          setDraft(undefined);
        }}
      />
      {wrong && <span className="row-note">{hint}</span>}
    </div>
  );
}

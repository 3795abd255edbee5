import type { VerdictState } from "../state/verdicts.ts";

const WORDS: Readonly<Record<VerdictState, string>> = {
  covered: "covered",
  marginal: "marginal",
  leaking: "leaking",
  "cannot-tell": "cannot tell",
  none: "",
};

/** The state of a verdict as a shape, with its word for those who can't see it. */
export function VerdictRing({ state }: { readonly state: VerdictState }) {
  if (state === "none") return null;
  return (
    <svg
      className={`verdict-ring ${state}`}
      viewBox="0 0 16 16"
      width="14"
      height="14"
      role="img"
      aria-label={WORDS[state]}
    >
      <circle cx="8" cy="8" r="6" />
      {state === "marginal" && <path d="M8 2 A6 6 0 0 1 8 14 Z" />}
    </svg>
  );
}

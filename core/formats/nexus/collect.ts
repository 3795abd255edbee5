import type { NumericKey, Sourced } from "../../model/metadata.ts";
import { type Candidate, convert, type Field, type Wanted } from "./fields.ts";

/** Metadata that is one number. */
export type ScalarKey = Exclude<NumericKey, "pixelSize" | "beamCentre" | "tilt">;

/** Gathers candidates for metadata in the order of the rules: the first that can be taken wins, all others are shown. */
export class MetadataCollector {
  readonly taken: { [key in ScalarKey]?: Sourced<number> } = {};
  readonly alternatives: Record<string, Sourced<number | string | readonly number[]>[]> = {};
  readonly warnings: string[] = [];
  readonly #seen = new Set<string>();

  /** Offers a field for a key. One field is offered once a key, however many names lead to it. */
  offer(
    key: ScalarKey,
    field: Field | undefined,
    wanted: Wanted,
    mark: { guessed?: boolean; note?: string } = {},
  ): void {
    if (field === undefined || this.#seen.has(`${key} ${field.path}`)) return;
    this.#seen.add(`${key} ${field.path}`);
    this.offerCandidate(key, convert(field, wanted), mark);
  }

  offerCandidate(key: ScalarKey, candidate: Candidate, mark: { guessed?: boolean; note?: string } = {}): void {
    if (!candidate.taken) {
      this.show(key, candidate.shown);
      if (candidate.warning !== undefined) this.warnings.push(candidate.warning);
      return;
    }
    const note = [candidate.value.note, mark.note].filter((part) => part !== undefined).join("; ");
    const value = { ...candidate.value, ...(mark.guessed === true && { guessed: true }), ...(note !== "" && { note }) };
    if (this.taken[key] === undefined) this.taken[key] = value;
    else this.show(key, value);
  }

  /** Something found that is shown and never used. */
  show(key: string, value: Sourced<number | string | readonly number[]>): void {
    this.alternatives[key] ??= [];
    this.alternatives[key].push(value);
  }
}

import { distance } from "fastest-levenshtein";
import * as v from "valibot";

/** What a number of a plan must satisfy, and how a message says it. */
const NUMBER_RULES = {
  any: { holds: (x: number) => Number.isFinite(x), words: "a number" },
  positive: { holds: (x: number) => x > 0 && x < Infinity, words: "a number > 0" },
  "not-negative": { holds: (x: number) => x >= 0 && x < Infinity, words: "a number >= 0" },
  fraction: { holds: (x: number) => x > 0 && x <= 1, words: "a number > 0 and <= 1" },
  count: { holds: (x: number) => Number.isInteger(x) && x >= 1, words: "a whole number >= 1" },
  index: { holds: (x: number) => Number.isInteger(x) && x >= 0, words: "a whole number >= 0" },
} as const;
export type NumberRule = keyof typeof NUMBER_RULES;

export function numberThat(rule: NumberRule): v.GenericSchema<number> {
  const { holds, words } = NUMBER_RULES[rule];
  return v.custom<number>((input) => typeof input === "number" && holds(input), `must be ${words}`);
}

export function pairThat(rule: NumberRule): v.GenericSchema<readonly [number, number]> {
  const { holds, words } = NUMBER_RULES[rule];
  return v.custom<readonly [number, number]>(
    (input) =>
      Array.isArray(input) && input.length === 2 && input.every((x: unknown) => typeof x === "number" && holds(x)),
    `must be a list of two numbers, each ${words}`,
  );
}

export function text(): v.GenericSchema<string> {
  return v.custom<string>(
    (input) => typeof input === "string" && input.trim() !== "",
    "must be a text that is not empty",
  );
}

export function flag(): v.BooleanSchema<string> {
  return v.boolean("must be true or false");
}

/** @param otherwise what else may stand there: "an object {...}" */
export function choice<const Options extends readonly string[]>(
  options: Options,
  otherwise?: string,
): v.PicklistSchema<Options, (issue: v.PicklistIssue) => string> {
  const words = options.map((option) => JSON.stringify(option)).join(", ");
  const one = options.length === 1 ? words : `one of ${words}`;
  const allowed = otherwise === undefined ? one : `${one} or ${otherwise}`;
  return v.picklist(options, ({ input }) => {
    const meant =
      typeof input === "string" && options.length > 1
        ? `; the nearest is ${JSON.stringify(nearest(input, options))}`
        : "";
    return `must be ${allowed}${meant}`;
  });
}

/** An object of known keys. An unknown key is refused, with the nearest known one in the message. */
export function section<Entries extends v.ObjectEntries>(entries: Entries) {
  const known = Object.keys(entries);
  const strict = v.strictObject(entries, (issue) => {
    if (issue.expected === "never")
      return `is not a key of a plan; the nearest known key is ${JSON.stringify(nearest(String(issue.input), known))}`;
    return "is required";
  });
  return v.lazy((input) => (isRecord(input) ? strict : notAnObject));
}

/** Objects that differ by the text under `key`: {"kind": "circle", ...}. */
export function sectionByKey<Options extends Record<string, v.GenericSchema>>(
  key: string,
  options: Options,
): v.GenericSchema<v.InferInput<Options[keyof Options]>, v.InferOutput<Options[keyof Options]>> {
  const which = v.looseObject({ [key]: choice(Object.keys(options)) }, "is required");
  return v.lazy((input) => {
    if (!isRecord(input)) return notAnObject;
    const name = input[key];
    return (typeof name === "string" && Object.hasOwn(options, name) ? options[name] : undefined) ?? which;
  }) as v.GenericSchema<v.InferInput<Options[keyof Options]>, v.InferOutput<Options[keyof Options]>>;
}

/** "none" (or another word) in place of a whole section. */
export function wordOr<const Words extends readonly string[], Schema extends v.GenericSchema>(
  words: Words,
  schema: Schema,
) {
  const word = choice(words, "an object {...}");
  return v.lazy((input) => (typeof input === "string" ? word : schema));
}

export function listOf<Schema extends v.GenericSchema>(schema: Schema) {
  return v.array(schema, "must be a list [...]");
}

/** The known word at the smallest edit distance; a word that begins like another counts as half as far. */
export function nearest(word: string, known: readonly string[]): string {
  const sought = word.toLowerCase();
  const farness = (candidate: string): number => {
    const other = candidate.toLowerCase();
    const edits = distance(sought, other);
    return sought.startsWith(other) || other.startsWith(sought) ? edits / 2 : edits;
  };
  return known.reduce((best, candidate) => (farness(candidate) < farness(best) ? candidate : best), known[0] ?? "");
}

export function isRecord(input: unknown): input is Record<string, unknown> {
  return typeof input === "object" && input !== null && !Array.isArray(input);
}

const notAnObject = v.custom<never>(() => false, "must be an object {...}");

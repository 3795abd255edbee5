/** Where JSON text stops being JSON, or gives one key of an object twice. Line and column count from 1. */
export interface JsonProblem {
  readonly line: number;
  readonly column: number;
  readonly what: string;
}

const NUMBER = /-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?/y;
// biome-ignore lint/suspicious/noControlCharactersInRegex: JSON forbids exactly these inside a string (RFC 8259, section 7)
const STRING = /"(?:[^"\\\u0000-\u001f]|\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4}))*"/y;
const WORD = /true|false|null/y;
const SPACE = /[ \t\n\r]*/y;
/** Deeper than any plan; keeps a hostile text from exhausting the stack. */
const MAX_DEPTH = 200;

/**
 * The first problem of a JSON text (RFC 8259), or undefined. Engines word and place their own errors differently, and
 * none of them mentions a key that is given twice.
 */
export function findJsonProblem(text: string): JsonProblem | undefined {
  let at = 0;
  let what: string | undefined;

  const skip = (pattern: RegExp): string | undefined => {
    pattern.lastIndex = at;
    const found = pattern.exec(text)?.[0];
    at += found?.length ?? 0;
    return found;
  };
  const take = (sign: string): boolean => {
    skip(SPACE);
    if (text[at] !== sign) return false;
    at++;
    return true;
  };
  const stop = (problem: string): false => {
    what ??= problem;
    return false;
  };
  const found = (): string => {
    if (at >= text.length) return "the end of the text";
    if (text.startsWith("//", at) || text.startsWith("/*", at)) return "a comment, which JSON does not have";
    return JSON.stringify(text[at]);
  };

  const value = (depth: number): boolean => {
    skip(SPACE);
    if (depth > MAX_DEPTH) return stop("nested too deeply");
    if (text[at] === "{") return object(depth);
    if (text[at] === "[") return list(depth);
    return skip(STRING) !== undefined || skip(NUMBER) !== undefined || skip(WORD) !== undefined
      ? true
      : stop(`expected a value, found ${found()}`);
  };
  const object = (depth: number): boolean => {
    at++;
    const keys = new Set<string>();
    if (take("}")) return true;
    do {
      skip(SPACE);
      const start = at;
      const key = skip(STRING);
      if (key === undefined) return stop(`expected a key in double quotes, found ${found()}`);
      if (keys.has(key)) {
        at = start;
        return stop(`the key ${key} is given twice`);
      }
      keys.add(key);
      if (!take(":")) return stop(`expected ":" after the key ${key}, found ${found()}`);
      if (!value(depth + 1)) return false;
    } while (take(","));
    return take("}") || stop(`expected "," or "}", found ${found()}`);
  };
  const list = (depth: number): boolean => {
    at++;
    if (take("]")) return true;
    do if (!value(depth + 1)) return false;
    while (take(","));
    return take("]") || stop(`expected "," or "]", found ${found()}`);
  };

  if (value(0)) {
    skip(SPACE);
    if (at < text.length) stop(`expected the end of the text, found ${found()}`);
  }
  if (what === undefined) return undefined;
  const before = text.slice(0, at).split("\n");
  return { line: before.length, column: before[before.length - 1]!.length + 1, what };
}

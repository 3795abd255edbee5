import { isRecord } from "../state/is-record.ts";
import { isKeys } from "./key-press.ts";

/** The person's own keys by command; "": none. Commands that aren't named keep the keys they come with. */
export type ChosenKeys = Readonly<Record<string, string>>;

export interface Keyed {
  readonly id: string;
  readonly title: string;
  /** The keys it comes with. */
  readonly keys?: string;
}

/** Keys of an earlier session; what names no keys is left out. */
export function readChosenKeys(stored: unknown): ChosenKeys {
  if (!isRecord(stored)) return {};
  return Object.fromEntries(
    Object.entries(stored).flatMap(([id, keys]) =>
      typeof keys === "string" && (keys === "" || isKeys(keys)) ? [[id, keys]] : [],
    ),
  );
}

/**
 * Which keys each command has; no two have the same. A choice goes before the keys that another command comes with: that
 * one is without as long as the choice stands.
 */
export function keyTable(commands: readonly Keyed[], chosen: ChosenKeys): ReadonlyMap<string, string> {
  const table = new Map<string, string>();
  const taken = new Set<string>();
  const give = (id: string, keys: string | undefined) => {
    if (keys === undefined || keys === "" || taken.has(keys)) return;
    taken.add(keys);
    table.set(id, keys);
  };
  for (const { id } of commands) give(id, choiceOf(chosen, id));
  for (const { id, keys } of commands) if (choiceOf(chosen, id) === undefined) give(id, keys);
  return table;
}

/** The other command that has these keys now. */
export function holderOf(
  commands: readonly Keyed[],
  chosen: ChosenKeys,
  keys: string,
  except: string,
): Keyed | undefined {
  const table = keyTable(commands, chosen);
  return commands.find(({ id }) => id !== except && table.get(id) === keys);
}

/** The choices once `id` has these keys ("": none): whoever had chosen them is without. */
export function withKeys(commands: readonly Keyed[], chosen: ChosenKeys, id: string, keys: string): ChosenKeys {
  const next = Object.fromEntries(
    Object.entries(chosen).map(([other, held]) => [other, held === keys ? "" : held] as const),
  );
  const own = commands.find((command) => command.id === id)?.keys ?? "";
  if (keys === own) delete next[id];
  else next[id] = keys;
  return next;
}

function choiceOf(chosen: ChosenKeys, id: string): string | undefined {
  return Object.hasOwn(chosen, id) ? chosen[id] : undefined;
}

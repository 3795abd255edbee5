/** A list of trees, and where in it we are. Without end: every state that was left can be returned to. */
export interface History<T> {
  readonly past: readonly Step<T>[];
  readonly present: T;
  readonly future: readonly Step<T>[];
  /** The gesture that made the present, while it lasts: its further changes are the same step. */
  readonly gesture: string | undefined;
}

/** A tree that was left, and what the change between it and its later neighbour does. */
export interface Step<T> {
  readonly tree: T;
  readonly label: string;
}

export function startHistory<T>(present: T): History<T> {
  return { past: [], present, future: [], gesture: undefined };
}

/** A change; those with the same `gesture` in a row become one step. */
export function record<T>(history: History<T>, present: T, label: string, gesture?: string): History<T> {
  if (present === history.present) return history;
  if (gesture !== undefined && gesture === history.gesture) return { ...history, present, future: [] };
  return { past: [...history.past, { tree: history.present, label }], present, future: [], gesture };
}

/** Ends a gesture: the next change is a step of its own. */
export function endGesture<T>(history: History<T>): History<T> {
  return history.gesture === undefined ? history : { ...history, gesture: undefined };
}

export function undo<T>(history: History<T>): History<T> {
  const last = history.past.at(-1);
  if (last === undefined) return history;
  return {
    past: history.past.slice(0, -1),
    present: last.tree,
    future: [{ tree: history.present, label: last.label }, ...history.future],
    gesture: undefined,
  };
}

export function redo<T>(history: History<T>): History<T> {
  const [next, ...future] = history.future;
  if (next === undefined) return history;
  return {
    past: [...history.past, { tree: history.present, label: next.label }],
    present: next.tree,
    future,
    gesture: undefined,
  };
}

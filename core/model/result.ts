/** What is wrong with a person's input. Plain data, so that it survives IPC and `postMessage`. */
export interface Fault {
  readonly code:
    | "unreadable"
    | "unsupported"
    | "inconsistent"
    | "missing"
    | "out-of-range"
    | "incomplete"
    | "cancelled";
  /** What, where, and what to do: one plain sentence. */
  readonly message: string;
  readonly file?: string;
  /** "/entry/instrument/detector/distance", "runs.sample" */
  readonly field?: string;
}

/** The outcome of anything that depends on a person's input. Our own bugs are thrown instead. */
export type Result<T> = { readonly ok: true; readonly value: T } | { readonly ok: false; readonly fault: Fault };

export function success<T>(value: T): Result<T> {
  return { ok: true, value };
}

export function failure(
  code: Fault["code"],
  message: string,
  place: { readonly file?: string; readonly field?: string } = {},
): { readonly ok: false; readonly fault: Fault } {
  return { ok: false, fault: { code, message, ...place } };
}

/** One line for a person: file, field and message, without saying any of them twice. */
export function describeFault(fault: Fault): string {
  const place = [fault.file, fault.field].filter((part) => part !== undefined && !fault.message.includes(part));
  return place.length > 0 ? `${place.join(", ")}: ${fault.message}` : fault.message;
}

import { isRecord } from "./is-record.ts";

type Stored = Readonly<Record<string, unknown>>;

/** What makes a stored session of one version one of the next, by the version it starts from. */
const MIGRATIONS: Readonly<Record<number, (stored: Stored) => Stored>> = { 1: addBeside };

/** A stored session as the present version writes it. The one handed in stays as it is. */
export function migrateSession(stored: Stored, version: number): Stored {
  let migrated = stored;
  for (let from = version; ; from++) {
    const step = MIGRATIONS[from];
    if (step === undefined) return migrated;
    migrated = { ...step(migrated), halationSession: from + 1 };
  }
}

/** 1 to 2: each step of the document names the curves that stand beside its own. The later sessions of 1 did already. */
function addBeside(stored: Stored): Stored {
  const { document } = stored;
  if (!isRecord(document)) return stored;
  const { past } = document;
  return {
    ...stored,
    document: {
      beside: [],
      ...document,
      past: Array.isArray(past) ? past.map((step) => (isRecord(step) ? { beside: [], ...step } : step)) : [],
    },
  };
}

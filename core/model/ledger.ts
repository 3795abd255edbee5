/** One line of the ledger: what a step did, with what, from where, and to what effect. */
export interface LedgerEntry {
  /** The plan's key: "deadTime", "emptyCell". */
  readonly step: string;
  readonly status: "applied" | "not applied";
  /** Why it was not applied, or anything a reader must know. */
  readonly reason?: string;
  /** In the plan's own keys and units. */
  readonly parameters: Readonly<Record<string, unknown>>;
  /** Where each parameter came from: a path in a file, or a key of the plan. */
  readonly sources: Readonly<Record<string, string>>;
  readonly effect?: {
    /** Range of the factor over unmasked pixels. */
    readonly factorMin?: number;
    readonly factorMax?: number;
    /** Sum of the signal over unmasked pixels. */
    readonly signalBefore?: number;
    readonly signalAfter?: number;
    readonly pixelsMasked?: number;
  };
  readonly relativeSigma?: number;
  readonly warnings: readonly string[];
}

/** Relative standard uncertainties that all points share; null: not known. */
export interface CommonUncertainty {
  /** Of all factors together, what they have in common taken into account; before an empty cell is taken off. */
  readonly relativeSigma: number | null;
  readonly factors: readonly {
    readonly name: string;
    readonly value: number;
    readonly relativeSigma: number | null;
    readonly appliesTo: "the intensity" | "sample in its cell" | "empty cell";
  }[];
}

export interface LedgerInput {
  readonly role: string;
  readonly file: string;
  readonly sha256: string;
  readonly format: string;
  readonly dataset: string;
}

export interface Ledger {
  readonly program: { readonly name: "Halation"; readonly version: string };
  readonly plan: unknown;
  readonly inputs: readonly LedgerInput[];
  readonly steps: readonly LedgerEntry[];
  readonly commonUncertainty?: CommonUncertainty;
  readonly warnings: readonly string[];
}

import type { Bank } from "../../model/frame.ts";
import type { ByteSource, ReadChoice } from "../reader.ts";
import type { FoundMetadata } from "./metadata.ts";

export interface BankContext {
  readonly choice: ReadChoice;
  /** The file's own bytes, for what the HDF5 library does not tell. */
  readonly source: ByteSource;
}

export interface OpenedBank {
  readonly bank: Bank;
  readonly metadata: FoundMetadata;
  readonly notes: readonly string[];
}

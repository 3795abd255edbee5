import type { Bank } from "../../model/frame.ts";
import type { ReadChoice } from "../reader.ts";
import type { FoundMetadata } from "./metadata.ts";

export interface BankContext {
  readonly choice: ReadChoice;
  readonly fileSize: number;
}

export interface OpenedBank {
  readonly bank: Bank;
  readonly metadata: FoundMetadata;
  readonly notes: readonly string[];
}

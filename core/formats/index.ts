export { bytesSource } from "./byte-source.ts";
export { describeRun, type RunDescription } from "./describe.ts";
export { openRun } from "./open-run.ts";
export { READERS } from "./readers.ts";

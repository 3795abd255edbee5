export { bytesSource } from "./byte-source.ts";
export type { LoadedCurve } from "./curves/loaded-curve.ts";
export { openCurves } from "./curves/open-curves.ts";
export { describeRun, type RunDescription } from "./describe.ts";
export { openRun } from "./open-run.ts";
export { READERS } from "./readers.ts";

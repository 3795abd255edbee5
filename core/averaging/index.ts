export * from "./average.ts";
export * from "./average-frame.ts";
export * from "./bins.ts";
export { EdgeTable } from "./edge-table.ts";
export * from "./membership.ts";
export * from "./sector.ts";

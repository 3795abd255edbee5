// The plan's types stand at the bottom of core, since every room above reads its part of a plan.
export * from "../model/plan.ts";

export { type BankPlane, bankPlane, isSquareToBeam, type LabVector } from "./bank-plane.ts";
export * from "./constants.ts";
export * from "./gravity.ts";
export * from "./maps.ts";
export { arrayPosition, pixelPosition, planePosition } from "./pixel-position.ts";
export * from "./q-range.ts";
export * from "./radius-of-q.ts";
export * from "./resolution.ts";
export { bankSolidAngle, pixelSolidAngle, type SolidAngleMethod, solidAngleMap } from "./solid-angle.ts";

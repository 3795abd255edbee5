/** What the corrections of a plan mean where it says nothing. Each is named in the ledger where it is used. */
export const CORRECTION_DEFAULTS = {
  /** Where a monitor count is known; otherwise nothing is normalised and the ledger and a warning say so. */
  normaliseBy: "monitor",
  solidAngle: "exact",
  /** Ambient neutrons, gammas and electronics go with time; what the beam makes would go with the monitor. */
  blockedBeam: { scaleBy: "time" },
  deadTimePer: "pixel",
  /** A transmission is used without the angle-dependent path unless the plan asks for it. */
  obliquePath: false,
  floodSmooth_px: 0,
  detectorShape: "flat",
} as const;

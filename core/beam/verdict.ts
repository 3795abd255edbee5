import type { BeamStopReport } from "./beam-stop-report.ts";
import { type LeakTest, NOTEWORTHY } from "./leak-test.ts";

/** What was found, as far as it was found. Lengths in px, and in m where the pixel size is known. */
export interface Findings {
  /** Why no shadow was found. */
  readonly noShadow?: string;
  /** Direct beam in the footprint of the direct-beam run: counts, and those that the surroundings explain. */
  readonly exposed?: { readonly counts: number; readonly expected: number };
  readonly beamMethod?: NonNullable<BeamStopReport["beam"]>["method"];
  /** Beam's rim to shadow's rim, and its sigma. */
  readonly margin?: { readonly pixels: number; readonly sigma: number; readonly metres?: number };
  /** How far the beam's centre lies inside the shadow. */
  readonly centreDepth?: number;
  readonly offset?: { readonly pixels: number; readonly metres?: number };
  readonly leak?: LeakTest;
  /** A limit of the user's that is passed, in words. */
  readonly overLimit?: string;
}

/** Chance of a false alarm, a frame: a leak is claimed below it; between it and NOTEWORTHY it is doubtful. */
export const ALARM = 1e-6;
/** A margin below this many sigma, or below a pixel, is no margin to rely on. */
const SAFE_SIGMAS = 3;
const SAFE_PIXELS = 1;

/**
 * The verdict and its reason.
 * - leaking: direct beam shows at the rim (chance below 1e-6), or the beam reaches beyond the shadow by three sigma, or
 *   its centre lies outside.
 * - marginal: an excess with a chance below 1e-3, a margin below a pixel or three sigma, or a limit passed.
 * - cannot tell: no shadow, no beam centre, or no look at the rim.
 * - covered: none of these.
 */
export function judgeBeamStop(findings: Findings): Pick<BeamStopReport, "verdict" | "reason"> {
  const { noShadow, exposed, margin, leak, centreDepth, beamMethod, overLimit } = findings;
  const limit = overLimit === undefined ? "" : `; ${overLimit}`;
  if (exposed !== undefined)
    return {
      verdict: "leaking",
      reason: `Direct beam falls on the detector: ${Math.round(exposed.counts)} counts where its surroundings explain ${Math.round(exposed.expected)}${limit}`,
    };
  if (noShadow !== undefined) return { verdict: "cannot-tell", reason: `Cannot tell: ${noShadow}${limit}` };
  if (centreDepth !== undefined && centreDepth < 0)
    return {
      verdict: "leaking",
      reason: `Beam stop misses the beam: its centre lies ${length(-centreDepth, undefined)} outside the shadow${limit}`,
    };
  if (leak !== undefined && leak.chance < ALARM)
    return { verdict: "leaking", reason: `Direct beam passes the stop: ${excess(leak)}${limit}` };
  if (margin !== undefined && margin.pixels < -SAFE_SIGMAS * margin.sigma)
    return {
      verdict: "leaking",
      reason: `Beam stop does not cover the beam: its rim reaches ${length(-margin.pixels, negative(margin.metres))} beyond the shadow${limit}`,
    };
  if (beamMethod === undefined)
    return {
      verdict: "cannot-tell",
      reason: `Cannot tell: the stop's shadow shows, but not where the beam is${limit}`,
    };
  if (leak === undefined)
    return { verdict: "cannot-tell", reason: `Cannot tell: too few pixels see the rim of the stop${limit}` };
  if (leak.chance < NOTEWORTHY) return { verdict: "marginal", reason: `Beam stop may leak: ${excess(leak)}${limit}` };
  if (margin !== undefined && margin.pixels < 0)
    return {
      verdict: "marginal",
      reason: `Beam stop may not cover the beam: its rim seems to reach ${length(-margin.pixels, negative(margin.metres))} beyond the shadow, within the uncertainty${limit}`,
    };
  if (margin !== undefined && margin.pixels < Math.max(SAFE_PIXELS, SAFE_SIGMAS * margin.sigma))
    return {
      verdict: "marginal",
      reason: `Beam stop barely covers the beam: ${length(margin.pixels, margin.metres)} to spare${limit}`,
    };
  if (overLimit !== undefined) return { verdict: "marginal", reason: `Beam stop covers the beam, but ${overLimit}` };
  const off =
    findings.offset === undefined ? "" : `, ${length(findings.offset.pixels, findings.offset.metres)} off centre`;
  const taken = TAKEN_FROM[beamMethod];
  if (margin === undefined)
    return {
      verdict: "covered",
      reason: `Beam stop covers the beam's centre${off}, and no direct beam shows at its rim; the beam's size is not known, so nor is the margin${taken}`,
    };
  return {
    verdict: "covered",
    reason: `Beam stop covers the beam: ${length(margin.pixels, margin.metres)} to spare${off}${taken}`,
  };
}

/** What the frame itself does not show has to be said. */
const TAKEN_FROM: Readonly<Record<NonNullable<Findings["beamMethod"]>, string>> = {
  "direct-beam": "; centre by the direct beam",
  symmetry: "; centre by the symmetry of the halo",
  given: "; centre as given",
  rings: "; centre by the rings",
};

function excess({ excessCounts, excessSigma, significance }: LeakTest): string {
  return `${Math.round(excessCounts)} ± ${Math.round(excessSigma)} counts above the halo at its rim (${significance.toFixed(1)} sigma)`;
}

function negative(metres: number | undefined): number | undefined {
  return metres === undefined ? undefined : -metres;
}

function length(pixels: number, metres: number | undefined): string {
  return metres === undefined ? `${pixels.toFixed(2)} px` : `${(metres * 1e3).toFixed(1)} mm`;
}

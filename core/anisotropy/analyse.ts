import { exp, ln } from "../model/steady-math.ts";
import {
  type CentreError,
  type CentreEvidence,
  centreEvidence,
  centreGradient,
  combineEvidence,
} from "./centre-error.ts";
import { correctCentreInParts } from "./corrected-centre.ts";
import { type EvenFit, fitEven } from "./even-fit.ts";
import { type AnisotropyGround, qStepOfPixel } from "./ground.ts";
import { type AnisotropyMeasures, measuresOfFit } from "./measures.ts";
import { type QRange, ringPixels } from "./ring-pixels.ts";

/** Q in 1/angstrom. */
export interface Annulus extends QRange {
  readonly id: string;
}

export interface AnnulusAnisotropy extends Annulus {
  /** Undefined: too few unmasked pixels or angles to tell. */
  readonly measures: AnisotropyMeasures | undefined;
}

export interface AnisotropyReport {
  readonly annuli: readonly AnnulusAnisotropy[];
  /** The same in narrow annuli from the smallest to the largest unmasked Q. */
  readonly spectrum: readonly AnnulusAnisotropy[];
  /** What the odd harmonics of the spectrum say of the beam centre; undefined: nothing. */
  readonly centre: CentreFinding | undefined;
}

export interface CentreFinding {
  readonly error: CentreError;
  /** Where the given centre is disproved: the same annuli and spectrum about the one that makes the frame even. */
  readonly corrected: Pick<AnisotropyReport, "annuli" | "spectrum"> | undefined;
}

export interface AnalysisChoice {
  readonly annuli: readonly Annulus[];
  /** Annuli of the spectrum, equally wide in ln Q. */
  readonly spectrum?: number;
  /** Direction of the magnetic field, rad, where it is known. */
  readonly field?: number | undefined;
}

const SPECTRUM_ANNULI = 24;

/** Measures in the given annuli and in a spectrum, and the centre that they speak for. */
export function analyseAnisotropy(ground: AnisotropyGround, choice: AnalysisChoice): AnisotropyReport {
  return toTheEnd(anisotropyInParts(ground, choice));
}

/** The same in parts, so that who has other things to do can do them in between. */
export function* anisotropyInParts(
  ground: AnisotropyGround,
  choice: AnalysisChoice,
): Generator<undefined, AnisotropyReport> {
  const spectrum = spectrumAnnuli(ground, choice.spectrum ?? SPECTRUM_ANNULI);
  const evidence: CentreEvidence[] = [];
  const gradient = spectrum.length === 0 ? undefined : centreGradient(ground.geometry);
  const annuli = yield* measureInParts(ground, choice.annuli, choice);
  const measured = yield* measureInParts(ground, spectrum, choice, (fit) => {
    const found = gradient && centreEvidence(fit.best, gradient);
    if (found !== undefined) evidence.push(found);
  });
  const error = combineEvidence(evidence);
  const found = error && gradient && (yield* correctCentreInParts({ error, gradient }, ground, spectrum));
  const about = found?.ground;
  return {
    annuli,
    spectrum: measured,
    centre: found && {
      error: found.error,
      corrected: about && {
        annuli: yield* measureInParts(about, choice.annuli, choice),
        spectrum: yield* measureInParts(about, spectrum, choice),
      },
    },
  };
}

function* measureInParts(
  { estimate, maps, geometry }: AnisotropyGround,
  annuli: readonly Annulus[],
  { field }: AnalysisChoice,
  onFit?: (fit: EvenFit) => void,
): Generator<undefined, readonly AnnulusAnisotropy[]> {
  const done: AnnulusAnisotropy[] = [];
  for (const annulus of annuli) {
    const pixels = ringPixels(estimate, maps, annulus, qStepOfPixel(geometry));
    const fit = fitEven(pixels);
    done.push({ ...annulus, measures: fit && measuresOfFit(fit, field) });
    if (fit !== undefined) onFit?.(fit);
    yield;
  }
  return done;
}

/** Runs work in parts without a pause. */
export function toTheEnd<T>(parts: Generator<undefined, T>): T {
  for (;;) {
    const next = parts.next();
    if (next.done === true) return next.value;
  }
}

/** The middle third, on a logarithmic scale, of the Q that the unmasked pixels span; undefined: they span none. */
export function middleAnnulus(ground: AnisotropyGround): Annulus | undefined {
  const range = unmaskedRange(ground);
  if (range === undefined) return undefined;
  const third = ln(range.qMax / range.qMin) / 3;
  return { id: "middle", qMin: range.qMin * exp(third), qMax: range.qMin * exp(2 * third) };
}

function unmaskedRange({ estimate, maps }: AnisotropyGround): QRange | undefined {
  let [low, high] = [Number.POSITIVE_INFINITY, 0];
  for (let p = 0; p < maps.q.length; p++) {
    const q = maps.q[p]!;
    if (estimate.mask[p] !== 0 || !(q > 0)) continue;
    low = Math.min(low, q);
    high = Math.max(high, q);
  }
  return high > low ? { qMin: low, qMax: high } : undefined;
}

function spectrumAnnuli(ground: AnisotropyGround, count: number): Annulus[] {
  const range = unmaskedRange(ground);
  if (range === undefined) return [];
  const { qMin: low, qMax: high } = range;
  // An annulus narrower than a pixel holds too few of them: the innermost edges are a pixel apart at least.
  const step = qStepOfPixel(ground.geometry);
  const edges = [low];
  for (let k = 1; k <= count; k++) {
    const edge = k === count ? high : low * exp((k / count) * ln(high / low));
    if (edge - edges[edges.length - 1]! >= step) edges.push(edge);
  }
  return edges.slice(1).map((qMax, k) => ({ id: `spectrum-${k + 1}`, qMin: edges[k]!, qMax }));
}

import { qOfRadius } from "../geometry/radius-of-q.ts";
import type { Orientation } from "../model/frame.ts";
import type { Collimation } from "../model/geometry.ts";
import type { StopOutline } from "../model/measured.ts";
import { cos, sin } from "../model/steady-math.ts";
import type { BeamStopReport } from "./beam-stop-report.ts";
import type { CountFrame } from "./count-frame.ts";
import { exposedBeam } from "./exposed-beam.ts";
import { type Beam, type ChosenCentre, findBeam, meanPitch } from "./find-beam.ts";
import { leakedFraction } from "./footprint.ts";
import { type LeakTest, leakTest } from "./leak-test.ts";
import { azimuthDegrees, inPicture } from "./picture-direction.ts";
import { shadowBesideLeak, shadowWithinBeam } from "./shadow-beside-leak.ts";
import { square } from "./square.ts";
import { findStopShadow, type NoStopShadow, type StopShadow } from "./stop-shadow.ts";
import { farthestOutline, nearestRimDirection, outlineDistance } from "./stop-shape.ts";
import { ALARM, type Findings, judgeBeamStop } from "./verdict.ts";

/** What may be known about a run; anything that isn't stays unknown in the report. */
export interface BeamStopInput {
  readonly frame: CountFrame & Orientation;
  /**
   * Direct beam (attenuated, stop out) on the same detector position, with its own mask. Only its place and its rim are
   * taken from it, and what falls in its footprint is compared with the surroundings in the frame itself: the
   * attenuator's factor changes none of these, so it isn't asked for.
   */
  readonly directBeam?: CountFrame;
  /** The centre that the person wants to be used, whatever else shows one. No sigmas: how well it is known isn't known. */
  readonly chosenCentre?: ChosenCentre;
  /** A declared centre, used where neither a direct beam nor the halo gives one. */
  readonly givenCentre?: { readonly x: number; readonly y: number };
  /** Pixel pitch along x and y, m. */
  readonly pixelSize?: readonly [number, number];
  /** m */
  readonly distance?: number;
  /** angstrom */
  readonly wavelength?: number;
  readonly collimation?: Collimation;
  /** Height, m, over which the band's wavelengths fall apart at the detector; half of it widens the footprint. */
  readonly gravitySpread?: number;
  /** s */
  readonly countTime?: number;
  /** Set by the user; counts a second. */
  readonly limits?: { readonly hottestPixelRate?: number; readonly totalRate?: number };
}

/** Sigmas of the penumbra beyond the outline from which the halo is taken as free. */
const FREE_OF_PENUMBRA = 2.5;
const HALF_PIXEL = 0.5;
/** Blur, px, with which the darkest place is masked where direct beam may surround it. */
const RING_AROUND = 2;

/**
 * Does the stop cover the beam? Fits the shadow, finds the beam, compares the two, looks along the rim for direct beam
 * that passes, and says what it found in one sentence. An aid for alignment, not a protection system.
 *
 * Lengths in mm are at the detector. Where the pitch differs along x and y, radii use the geometric mean.
 */
export function assessBeamStop(input: BeamStopInput): BeamStopReport {
  const { frame, pixelSize } = input;
  const aspect = pixelSize === undefined ? 1 : pixelSize[1] / pixelSize[0];
  const warnings: string[] = [];
  const rates = countRates(frame, input.countTime);
  const first = findStopShadow(frame, { aspect });
  const exposed = input.directBeam && exposedBeam(frame, input.directBeam);
  const rim = first.found ? openRim(input, first, aspect, warnings) : ringedRim(input, first, aspect, warnings);
  if (rim === undefined)
    return {
      ...nothingKnown(rates, warnings),
      ...judgeBeamStop({
        noShadow: first.found ? "" : first.reason,
        ...(exposed && { exposed }),
        ...limitFindings(input, rates),
      }),
    };
  const { beam, shadow, leak } = rim;
  const place = beam && compare(input, shadow, beam);
  const findings: Findings = {
    ...(beam && { beamMethod: beam.method }),
    ...(place?.margin && { margin: place.margin }),
    ...(beam && { centreDepth: -outlineDistance(shadow.outline, beam.x, beam.y) }),
    ...(leak && { leak }),
    ...(exposed && { exposed }),
    ...(place && { offset: place.offset }),
    ...limitFindings(input, rates),
  };
  return {
    ...nothingKnown(rates, warnings),
    ...judgeBeamStop(findings),
    stop: stopOf(shadow),
    beam: beam === undefined ? null : beamOf(beam),
    ...place?.report,
    leak: leak === undefined ? null : leakOf(leak, frame),
  };
}

interface Rim {
  readonly beam: Beam | undefined;
  readonly shadow: StopShadow;
  readonly leak?: LeakTest;
}

/**
 * The leak test; and where the rim leaks, the shadow and the halo's centre fitted again with the leak in mind, which bends
 * both, and the test with the new outline.
 */
function openRim(input: BeamStopInput, first: StopShadow, aspect: number, warnings: string[]): Rim {
  const over = {
    hidden: [first.outline, first.penumbra.value] as const,
    leaveOut: [...first.attached, ...first.bright],
    halo: first.haloCentre,
  };
  const beam = findBeam(input, over, aspect, warnings);
  if (beam === undefined) return { beam, shadow: first };
  const leak = rimLeak(input.frame, first, { beam, aspect });
  if (leak === undefined) return { beam, shadow: first };
  if (leak.leaking.length === 0) return { beam, shadow: first, leak };
  // The halo's centre again, now that it is known which pixels hold direct beam besides.
  const seen =
    beam.method === "symmetry"
      ? (findBeam(input, { ...over, leaveOut: [...over.leaveOut, ...leak.leaking] }, aspect, []) ?? beam)
      : beam;
  const shadow = shadowBesideLeak(input.frame, first, { beam: seen, aspect, leaking: leak.leaking });
  const again = rimLeak(input.frame, shadow, { beam: seen, aspect });
  return again === undefined ? { beam, shadow: first, leak } : { beam: seen, shadow, leak: again };
}

/**
 * Where no shadow was found: direct beam all around the darkest place may hide its outline. Only where the rim then
 * leaks beyond doubt was that so.
 */
function ringedRim(
  input: BeamStopInput,
  { darkest }: NoStopShadow,
  aspect: number,
  warnings: string[],
): Rim | undefined {
  if (darkest === undefined) return undefined;
  const said: string[] = [];
  const beam = findBeam(input, { hidden: [darkest, RING_AROUND], leaveOut: [], halo: undefined }, aspect, said);
  const shadow = beam && shadowWithinBeam(input.frame, darkest, { beam, aspect });
  const leak = beam && shadow && rimLeak(input.frame, shadow, { beam, aspect });
  if (shadow === undefined || leak === undefined || !(leak.chance < ALARM)) return undefined;
  warnings.push(...said);
  return { beam, shadow, leak };
}

function rimLeak(
  frame: CountFrame,
  { outline, penumbra, level, attached }: StopShadow,
  { beam, aspect }: { beam: Beam; aspect: number },
): LeakTest | undefined {
  return leakTest({
    ...{ frame, outline, penumbra: penumbra.value, level: level.value },
    ...{ beam, aspect, leaveOut: attached },
  });
}

function compare(input: BeamStopInput, shadow: StopShadow, beam: Beam) {
  const { frame, pixelSize, distance, wavelength } = input;
  const { outline } = shadow;
  const offset: [number, number] = [outline.x - beam.x, outline.y - beam.y];
  const sigma =
    beam.xSigma === undefined || beam.ySigma === undefined
      ? undefined
      : ([
          Math.sqrt(square(outline.xSigma ?? 0) + square(beam.xSigma)),
          Math.sqrt(square(outline.ySigma ?? 0) + square(beam.ySigma)),
        ] as const);
  const pitch = meanPitch(pixelSize);
  const offsetMetres = pixelSize && ([offset[0] * pixelSize[0], offset[1] * pixelSize[1]] as const);
  const length = offsetMetres && Math.sqrt(square(offsetMetres[0]) + square(offsetMetres[1]));
  const [rimX, rimY] = nearestRimDirection(outline, beam.x, beam.y);
  const margin = beam.radius === undefined ? undefined : -outlineDistance(outline, beam.x, beam.y) - beam.radius;
  const sizeSigma =
    outline.shape === "circle"
      ? (outline.radiusSigma ?? 0)
      : Math.max(outline.widthSigma ?? 0, outline.heightSigma ?? 0) / 2;
  const marginSigma = sigma && Math.sqrt(square(rimX * sigma[0]) + square(rimY * sigma[1]) + square(sizeSigma));
  const move = offsetMetres && inPicture(frame, -offsetMetres[0], -offsetMetres[1]);
  const free = HALF_PIXEL + FREE_OF_PENUMBRA * shadow.penumbra.value;
  const qAt = (pixels: number): number | null =>
    pitch === undefined || distance === undefined || wavelength === undefined
      ? null
      : qOfRadius({ distance, wavelength }, pixels * pitch);
  const millimetres = (pixels: number | undefined): number | null =>
    pixels === undefined || pitch === undefined ? null : pixels * pitch * 1e3;
  const along = Math.sqrt(square(offset[0]) + square(offset[1]));
  return {
    offset: { pixels: along, ...(length !== undefined && { metres: length }) },
    margin:
      margin === undefined
        ? undefined
        : { pixels: margin, sigma: marginSigma ?? 0, ...(pitch !== undefined && { metres: margin * pitch }) },
    report: {
      offset_px: offset,
      offset_px_sigma: sigma ?? null,
      offset_mm: length === undefined ? null : length * 1e3,
      offset_mm_sigma: sigma === undefined ? null : millimetres(lengthSigma(offset, sigma, along)),
      margin_px: margin ?? null,
      margin_mm: millimetres(margin),
      margin_mm_sigma: margin === undefined ? null : millimetres(marginSigma),
      marginDirection_deg: margin === undefined ? null : azimuthDegrees(...inPicture(frame, rimX, rimY)),
      leakedFraction:
        outline.shape === "circle" && beam.radius !== undefined
          ? leakedFraction(outline.radius, beam.radius, along)
          : null,
      qMin_1A: qAt(farthestOutline(outline, beam.x, beam.y) + free),
      qMinCentred_1A: qAt(farthestOutline(outline, outline.x, outline.y) + free),
      move_mm: move === undefined ? null : ([move[0] * 1e3, move[1] * 1e3] as const),
    },
  };
}

/** Of the offset's length; where the offset is within its noise, the mean of both sigmas. */
function lengthSigma(offset: readonly [number, number], sigma: readonly [number, number], length: number): number {
  if (length < Math.max(sigma[0], sigma[1])) return Math.sqrt((square(sigma[0]) + square(sigma[1])) / 2);
  return Math.sqrt(square(offset[0] * sigma[0]) + square(offset[1] * sigma[1])) / length;
}

interface Rates {
  readonly hottest: { x: number; y: number; counts: number } | undefined;
  readonly total: number;
  readonly time: number | undefined;
}

function countRates({ width, counts, mask }: CountFrame, time: number | undefined): Rates {
  let total = 0;
  let hottest = -1;
  for (let p = 0; p < counts.length; p++) {
    if (mask[p] !== 0) continue;
    total += counts[p]!;
    if (hottest < 0 || counts[p]! > counts[hottest]!) hottest = p;
  }
  const x = hottest % width;
  return {
    hottest: hottest < 0 ? undefined : { x, y: (hottest - x) / width, counts: counts[hottest]! },
    total,
    time,
  };
}

function limitFindings({ limits }: BeamStopInput, { hottest, total, time }: Rates): Pick<Findings, "overLimit"> {
  if (limits === undefined || time === undefined) return {};
  const over: string[] = [];
  if (limits.hottestPixelRate !== undefined && hottest !== undefined && hottest.counts / time > limits.hottestPixelRate)
    over.push(
      `pixel (${hottest.x}, ${hottest.y}) counts ${(hottest.counts / time).toPrecision(3)} 1/s, above the limit of ${limits.hottestPixelRate} 1/s`,
    );
  if (limits.totalRate !== undefined && total / time > limits.totalRate)
    over.push(`the detector counts ${(total / time).toPrecision(3)} 1/s, above the limit of ${limits.totalRate} 1/s`);
  return over.length > 0 ? { overLimit: over.join("; ") } : {};
}

function nothingKnown({ hottest, total, time }: Rates, warnings: readonly string[]) {
  return {
    ...{ stop: null, beam: null, offset_px: null, offset_px_sigma: null, offset_mm: null, offset_mm_sigma: null },
    ...{ margin_px: null, margin_mm: null, margin_mm_sigma: null, marginDirection_deg: null },
    ...{ leakedFraction: null, qMin_1A: null, qMinCentred_1A: null, move_mm: null, leak: null },
    hottest:
      hottest === undefined
        ? null
        : {
            ...{ x_px: hottest.x, y_px: hottest.y, counts: hottest.counts },
            rate_1s: time === undefined ? null : hottest.counts / time,
          },
    total: { counts: total, rate_1s: time === undefined ? null : total / time },
    warnings,
  };
}

function stopOf({ outline, penumbra, level }: StopShadow): BeamStopReport["stop"] {
  const common = {
    ...{ x_px: outline.x, y_px: outline.y, x_px_sigma: outline.xSigma ?? null, y_px_sigma: outline.ySigma ?? null },
    ...{ penumbra_px: penumbra.value, penumbra_px_sigma: penumbra.sigma, level_counts: level.value },
  };
  return outline.shape === "circle" ? { ...circleOf(outline), ...common } : { ...rectangleOf(outline), ...common };
}

function circleOf(outline: Extract<StopOutline, { shape: "circle" }>) {
  return { shape: outline.shape, radius_px: outline.radius, radius_px_sigma: outline.radiusSigma ?? null };
}

function rectangleOf(outline: Extract<StopOutline, { shape: "rectangle" }>) {
  return {
    ...{ shape: outline.shape, width_px: outline.width, height_px: outline.height },
    ...{ width_px_sigma: outline.widthSigma ?? null, height_px_sigma: outline.heightSigma ?? null },
    turn_deg: (outline.turn * 180) / Math.PI,
    turn_deg_sigma: outline.turnSigma === undefined ? null : (outline.turnSigma * 180) / Math.PI,
  };
}

function beamOf(beam: Beam): NonNullable<BeamStopReport["beam"]> {
  return {
    ...{ x_px: beam.x, y_px: beam.y, x_px_sigma: beam.xSigma ?? null, y_px_sigma: beam.ySigma ?? null },
    ...{ radius_px: beam.radius ?? null, method: beam.method, radiusFrom: beam.radiusFrom ?? null },
  };
}

function leakOf(leak: LeakTest, orientation: Orientation): NonNullable<BeamStopReport["leak"]> {
  return {
    ...{ excessCounts: leak.excessCounts, excessCounts_sigma: leak.excessSigma, significance: leak.significance },
    segments: leak.segments.map(({ phi, pixels, counts, expected, expectedSigma, significance }) => ({
      azimuth_deg: azimuthDegrees(...inPicture(orientation, cos(phi), sin(phi))),
      ...{ pixels, counts, expected, expected_sigma: expectedSigma, significance },
    })),
  };
}

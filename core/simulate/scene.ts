import * as v from "valibot";
import { failure, type Result, success } from "../model/result.ts";

// A scene says what stands in the beam and which runs are taken. Keys carry their units, as in every file of ours.

const positive = v.pipe(v.number(), v.finite(), v.gtValue(0));
const fraction = v.pipe(v.number(), v.gtValue(0), v.maxValue(1));
const notNegative = v.pipe(v.number(), v.finite(), v.minValue(0));
const pair = v.tuple([v.number(), v.number()]);
const fileName = v.pipe(v.string(), v.regex(/^[A-Za-z0-9][A-Za-z0-9._-]*$/, "a plain file name"));

const stop = v.variant("shape", [
  v.strictObject({ shape: v.literal("circle"), radius_mm: positive, at_px: pair, edgeBlur_px: positive }),
  v.strictObject({
    shape: v.literal("rectangle"),
    width_mm: positive,
    height_mm: positive,
    turn_deg: v.number(),
    at_px: pair,
    edgeBlur_px: positive,
  }),
]);

const camera = v.strictObject({
  name: v.string(),
  source: v.string(),
  width: v.pipe(v.number(), v.integer(), v.minValue(16), v.maxValue(2048)),
  height: v.pipe(v.number(), v.integer(), v.minValue(16), v.maxValue(2048)),
  pixelSize_mm: v.tuple([positive, positive]),
  distance_m: positive,
  wavelength_A: positive,
  /** Full width at half maximum over mean, triangular. */
  wavelengthSpread: notNegative,
  beamCentre_px: pair,
  sourceAperture_mm: positive,
  sampleAperture_mm: positive,
  collimation_m: positive,
  /** Of the whole bank, non-paralysable. */
  deadTime_s: notNegative,
  /** Neutrons a second that the bank would count of the open beam. */
  beamRate_1s: positive,
  monitorRate_1s: positive,
  /** Counts a second and pixel that come with the beam shut, too. */
  ambientRate_1s: notNegative,
  /** Uneven response: relative size of a smooth swell and of pixel-to-pixel scatter; pixels that are dead or hot. */
  response: v.strictObject({
    swell: notNegative,
    scatter: notNegative,
    dead: v.array(pair),
    hot: v.array(pair),
    hotRate_1s: notNegative,
  }),
  stop,
});

const rod = v.strictObject({
  kind: v.literal("rods"),
  length_A: positive,
  radius_A: positive,
  volumeFraction: fraction,
  contrast_1A2: v.number(),
  /** Orientation distribution exp(m cos^2 beta) about the director; 0: all directions alike. */
  alignmentStrength: notNegative,
  director_deg: v.number(),
  background_1cm: notNegative,
});
const spheres = v.strictObject({
  kind: v.literal("spheres"),
  radius_A: positive,
  sigmaLnR: notNegative,
  volumeFraction: fraction,
  contrast_1A2: v.number(),
  background_1cm: notNegative,
});

const sample = v.strictObject({
  name: v.string(),
  thickness_mm: positive,
  /** Of the sample without its cell. */
  transmission: fraction,
  model: v.variant("kind", [spheres, rod]),
});

const cell = v.strictObject({
  transmission: fraction,
  /** Scattering of the whole cell per steradian at Q = 0.02 1/A, and the power with which it falls. */
  yield_1sr: notNegative,
  power: v.number(),
});

const run = v.strictObject({
  file: fileName,
  title: v.string(),
  kind: v.picklist(["scattering", "direct", "blocked", "flood"]),
  /** Key of `samples`; absent: no sample. */
  sample: v.optional(v.string()),
  inCell: v.optional(v.boolean()),
  time_s: positive,
  attenuation: v.optional(fraction),
  /** Added to the stop's place. */
  stopOffset_px: v.optional(pair),
  /** Flood only: counts a pixel and second at the centre. */
  floodRate_1s: v.optional(positive),
});

const scene = v.strictObject({
  sceneVersion: v.literal(1),
  title: v.string(),
  camera,
  samples: v.record(v.string(), sample),
  cell,
  runs: v.pipe(v.array(run), v.minLength(1), v.maxLength(2000)),
});

export type Scene = v.InferOutput<typeof scene>;
export type SceneRun = v.InferOutput<typeof run>;
export type SceneSample = v.InferOutput<typeof sample>;
export type SceneCamera = v.InferOutput<typeof camera>;
export type SceneStop = v.InferOutput<typeof stop>;

/** Checks a parsed JSON value as a scene; a fault names the key. */
export function checkScene(value: unknown, file?: string): Result<Scene> {
  const place = file === undefined ? {} : { file };
  const checked = v.safeParse(scene, value);
  if (!checked.success) {
    const issue = checked.issues[0];
    const key = v.getDotPath(issue) ?? "the scene";
    return failure("inconsistent", `${key}: ${issue.message}`, { ...place, field: key });
  }
  for (const [index, one] of checked.output.runs.entries()) {
    if (one.sample !== undefined && checked.output.samples[one.sample] === undefined)
      return failure("missing", `runs.${index}.sample names "${one.sample}", which is not among the samples`, {
        ...place,
        field: `runs.${index}.sample`,
      });
    if (one.kind === "flood" && one.floodRate_1s === undefined)
      return failure("missing", `runs.${index} is a flood and needs floodRate_1s`, {
        ...place,
        field: `runs.${index}.floodRate_1s`,
      });
  }
  return success(checked.output);
}

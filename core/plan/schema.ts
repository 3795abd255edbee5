import * as v from "valibot";
import { METADATA_FIELDS } from "../model/metadata.ts";
import { OUTPUT_KINDS, type Plan, type PlanMetadata, RUN_ROLES } from "./plan.ts";
import { choice, flag, listOf, numberThat, pairThat, section, sectionByKey, text, wordOr } from "./schema-parts.ts";

/** More bins than any detector has pixels along a line; a guard against a slip of the finger. */
const MAX_BINS = 100_000;
const count = v.pipe(
  numberThat("count"),
  v.check((n) => n <= MAX_BINS, `must be at most ${MAX_BINS}`),
);

const frame = v.lazy((input) =>
  typeof input === "string" ? choice(["sum"], "a whole number >= 0") : numberThat("index"),
);
const runObject = section({
  file: text(),
  entry: v.optional(text()),
  dataset: v.optional(text()),
  frame: v.optional(frame),
  rowOrder: v.optional(choice(["bottom-up", "top-down"])),
  transpose: v.optional(flag()),
});
const run = v.lazy((input) => (typeof input === "string" ? text() : runObject));
const runList = v.pipe(
  listOf(run),
  v.check((list) => list.length > 0, "must name at least one file"),
);
const { sample: _, ...otherRoles } = Object.fromEntries(RUN_ROLES.map((role) => [role, v.optional(run)])) as {
  readonly [role in (typeof RUN_ROLES)[number]]: v.OptionalSchema<typeof run, undefined>;
};

const metadataValues = section(
  Object.fromEntries(
    METADATA_FIELDS.map(({ fileKey, length, range }) => [
      fileKey,
      v.optional<v.GenericSchema<PlanMetadata[string]>>(length === 2 ? pairThat(range) : numberThat(range)),
    ]),
  ),
);
const metadata = section(
  Object.fromEntries((["all", ...RUN_ROLES] as const).map((role) => [role, v.optional(metadataValues)])) as {
    readonly [role in "all" | (typeof RUN_ROLES)[number]]: v.OptionalSchema<typeof metadataValues, undefined>;
  },
);

const beamCentre = section({
  method: choice(["given", "direct-beam", "symmetry"]),
});
const ringCentre = section({ method: choice(["rings"]), dSpacing_A: numberThat("positive") });

const point = { x: numberThat("any"), y: numberThat("any") };
const shape = sectionByKey("kind", {
  circle: section({ kind: v.literal("circle"), ...point, r: numberThat("positive") }),
  "outside-circle": section({ kind: v.literal("outside-circle"), ...point, r: numberThat("positive") }),
  rectangle: section({
    kind: v.literal("rectangle"),
    ...point,
    width: numberThat("positive"),
    height: numberThat("positive"),
  }),
  polygon: section({
    kind: v.literal("polygon"),
    points: v.pipe(
      listOf(pairThat("any")),
      v.check((points) => points.length >= 3, "must have at least three points"),
    ),
  }),
});
const mask = section({
  auto: v.optional(listOf(choice(["beam-stop", "hot", "dead"]))),
  edge_px: v.optional(numberThat("index")),
  file: v.optional(text()),
  shapes: v.optional(listOf(shape)),
});

const transmissionValue = v.lazy((input) =>
  typeof input === "string" ? choice(["measure", "none"], "a number > 0 and <= 1") : numberThat("fraction"),
);
const corrections = section({
  deadTime: v.optional(
    wordOr(
      ["none"],
      section({
        model: choice(["non-paralysable", "paralysable"]),
        tau_s: v.optional(numberThat("not-negative")),
        per: v.optional(choice(["pixel", "bank"])),
      }),
    ),
  ),
  blockedBeam: v.optional(wordOr(["none"], section({ scaleBy: choice(["time", "monitor"]) }))),
  normaliseBy: v.optional(choice(["monitor", "time", "none"])),
  transmission: v.optional(
    wordOr(
      ["measure", "none"],
      section({
        sample: v.optional(transmissionValue),
        emptyCell: v.optional(transmissionValue),
        obliquePath: v.optional(flag()),
        radius_px: v.optional(numberThat("positive")),
      }),
    ),
  ),
  solidAngle: v.optional(choice(["exact", "cosine-cubed", "none"])),
  flood: v.optional(wordOr(["none"], section({ smooth_px: v.optional(numberThat("not-negative")) }))),
  detectorAbsorption: v.optional(
    wordOr(["none"], section({ opticalDepth: numberThat("positive"), shape: v.optional(choice(["flat", "tubes"])) })),
  ),
  absolute: v.optional(
    wordOr(
      ["none"],
      sectionByKey("method", {
        "direct-beam": section({
          method: v.literal("direct-beam"),
          directBeamRadius_px: v.optional(numberThat("positive")),
        }),
        factor: section({
          method: v.literal("factor"),
          value: numberThat("positive"),
          sigma: v.optional(numberThat("not-negative")),
        }),
      }),
    ),
  ),
  gravity: v.optional(v.lazy((input) => (typeof input === "string" ? choice(["none"], "true or false") : flag()))),
  background_1cm: v.optional(numberThat("any")),
});

const resolution = section({
  method: v.optional(choice(["second-moments", "full-widths"])),
  wavelengthLaw: v.optional(choice(["triangular", "gaussian", "rectangular"])),
  timeOfFlight: v.optional(
    section({
      path_m: numberThat("positive"),
      path_mm_sigma: v.optional(numberThat("not-negative")),
      emission_us_sigma: numberThat("not-negative"),
      channelWidth: v.optional(numberThat("not-negative")),
    }),
  ),
});

/** `from`: the lowest Q that makes sense; a box runs through 0 to negative Q. */
function binsFrom(from: "not-negative" | "any") {
  const between = {
    count: v.optional(count),
    qMin: v.optional(numberThat(from)),
    qMax: v.optional(numberThat(from === "any" ? "any" : "positive")),
  };
  return sectionByKey("spacing", {
    linear: section({ spacing: v.literal("linear"), ...between }),
    log: section({
      spacing: v.literal("log"),
      count: v.optional(count),
      qMin: v.optional(numberThat("positive")),
      qMax: v.optional(numberThat("positive")),
    }),
    edges: section({
      spacing: v.literal("edges"),
      edges: v.pipe(
        listOf(numberThat(from)),
        v.check((edges) => edges.length >= 2, "must have at least two edges"),
        v.check((edges) => edges.length <= MAX_BINS + 1, `must have at most ${MAX_BINS + 1} edges`),
        v.check((edges) => edges.every((edge, i) => i === 0 || edge > edges[i - 1]!), "must increase"),
      ),
    }),
  });
}
const bins = binsFrom("not-negative");

/** An id becomes a file name on every system: letters, digits, dot, dash, underscore; no reserved device name. */
const id = v.custom<string>(
  (input) =>
    typeof input === "string" &&
    /^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$/.test(input) &&
    !input.endsWith(".") &&
    !/^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i.test(input),
  "must be a name of at most 64 letters, digits, dots, dashes and underscores that can stand as a file name",
);
const average = sectionByKey("kind", {
  radial: section({ id, kind: v.literal("radial"), bins: v.optional(bins) }),
  sector: section({
    id,
    kind: v.literal("sector"),
    centre_deg: numberThat("any"),
    halfWidth_deg: v.pipe(
      numberThat("positive"),
      v.check((width) => width <= 180, "must be at most 180"),
    ),
    mirrored: v.optional(flag()),
    bins: v.optional(bins),
  }),
  annulus: section({
    id,
    kind: v.literal("annulus"),
    qMin: numberThat("not-negative"),
    qMax: numberThat("positive"),
    count: v.optional(count),
  }),
  box: section({
    id,
    kind: v.literal("box"),
    axis: choice(["x", "y"]),
    halfWidth_1A: numberThat("positive"),
    bins: v.optional(binsFrom("any")),
  }),
});

/** Shape, types and ranges of a plan; what its parts need of each other is in consistency.ts. */
export const planSchema: v.GenericSchema<unknown, Plan> = section({
  planVersion: v.literal(1, "must be 1, the only version that there is"),
  title: v.optional(v.string("must be a text")),
  runs: section({ sample: v.lazy((input) => (Array.isArray(input) ? runList : run)), ...otherRoles }),
  metadata: v.optional(metadata),
  beamCentre: v.optional(
    sectionByKey("method", {
      given: beamCentre,
      "direct-beam": beamCentre,
      symmetry: beamCentre,
      rings: ringCentre,
    }),
  ),
  mask: v.optional(mask),
  corrections: v.optional(corrections),
  resolution: v.optional(resolution),
  averages: v.optional(listOf(average)),
  outputs: v.optional(listOf(choice(OUTPUT_KINDS))),
});

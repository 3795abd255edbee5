import { describe, expect, it } from "vitest";
import { planHash } from "../../../core/plan/canonical-json.ts";
import { findJsonProblem } from "../../../core/plan/json-position.ts";
import { parsePlan, planFaults, validatePlan } from "../../../core/plan/parse.ts";

const full = {
  planVersion: 1,
  title: "Nanorods, 100 1/s",
  runs: {
    sample: "sheared-100.h5",
    sampleTransmission: "sheared-direct.h5",
    emptyCell: "cell.h5",
    emptyCellTransmission: { file: "cell-direct.h5", frame: "sum", rowOrder: "top-down", transpose: true },
    emptyBeam: { file: "direct.h5", frame: 3 },
    blockedBeam: "blocked.h5",
    flood: "flood.h5",
  },
  metadata: {
    all: {
      distance_m: 4,
      pixelSize_mm: [5, 5],
      wavelength_A: 6,
      wavelengthSpread: 0.1,
      beamCentre_px: [63.2, 64.8],
      tilt_deg: [0, 0],
    },
    sample: { monitorCounts: 1e6, countTime_s: 600, thickness_mm: 1, attenuation: 1 },
  },
  beamCentre: { method: "rings", dSpacing_A: 58.38 },
  mask: {
    auto: ["beam-stop", "hot", "dead"],
    edge_px: 2,
    file: "mask.npy",
    shapes: [
      { kind: "circle", x: 63, y: 65, r: 6 },
      { kind: "rectangle", x: 0, y: 0, width: 4, height: 128 },
      {
        kind: "polygon",
        points: [
          [0, 0],
          [5, 0],
          [0, 5],
        ],
      },
      { kind: "outside-circle", x: 63, y: 65, r: 60 },
    ],
  },
  corrections: {
    deadTime: { model: "non-paralysable", tau_s: 2e-6, per: "pixel" },
    blockedBeam: { scaleBy: "time" },
    normaliseBy: "monitor",
    transmission: { sample: 0.72, emptyCell: 0.95, obliquePath: true },
    solidAngle: "exact",
    flood: { smooth_px: 0 },
    detectorAbsorption: { opticalDepth: 1.2 },
    absolute: { method: "direct-beam", directBeamRadius_px: 8 },
    background_1cm: 0,
  },
  averages: [
    { id: "radial", kind: "radial", bins: { spacing: "log", count: 150, qMin: 0.004, qMax: 0.25 } },
    { id: "flow", kind: "sector", centre_deg: 0, halfWidth_deg: 15, mirrored: true },
    { id: "ring", kind: "annulus", qMin: 0.02, qMax: 0.03, count: 72 },
    { id: "cut", kind: "box", axis: "x", halfWidth_1A: 0.003 },
    { id: "edges", kind: "radial", bins: { spacing: "edges", edges: [0.01, 0.02, 0.05] } },
  ],
  outputs: ["csv", "columns", "cansas-xml", "nxcansas", "figures", "maps", "report"],
};
const small = { planVersion: 1, runs: { sample: "a.npy" } };

/** The plan with one value put at a path of keys. */
function withValue(path: readonly (string | number)[], value: unknown, base: unknown = full): unknown {
  const copy = structuredClone(base) as Record<string | number, unknown>;
  let at = copy;
  for (const key of path.slice(0, -1)) {
    at[key] ??= {};
    at = at[key] as Record<string | number, unknown>;
  }
  const last = path[path.length - 1]!;
  if (value === undefined) delete at[last];
  else at[last] = value;
  return copy;
}

describe("a plan", () => {
  it("is accepted with every key, and with the two required ones alone", () => {
    expect(planFaults(full)).toEqual([]);
    expect(planFaults(small)).toEqual([]);
    expect(parsePlan(`\uFEFF${JSON.stringify(small)}`, "a.json")).toEqual({ ok: true, value: small });
  });

  it.each([
    [["corrections", "solidAngel"], "exact", "corrections.solidAngel", `"solidAngle"`],
    [["metadata", "all", "wavelenght_A"], 6, "metadata.all.wavelenght_A", `"wavelength_A"`],
    [["metadata", "all", "distance_mm"], 4000, "metadata.all.distance_mm", `"distance_m"`],
    [["runs", "emptycell"], "x", "runs.emptycell", `"emptyCell"`],
    [["averages", 1, "halfwidth_deg"], 1, "averages[1].halfwidth_deg", `"halfWidth_deg"`],
    [["mask", "shapes", 0, "radius"], 1, "mask.shapes[0].radius", `"r"`],
    [["runs", "emptyBeam", "frames"], 1, "runs.emptyBeam.frames", `"frame"`],
    [["titel"], "x", "titel", `"title"`],
    [["constructor"], "x", "constructor", `"corrections"`],
  ])("refuses the unknown key %j and names the nearest", (path, value, field, nearest) => {
    const fault = planFaults(withValue(path, value))[0]!;
    expect(fault.field).toBe(field);
    expect(fault.message).toContain(field);
    expect(fault.message).toContain(nearest);
  });

  it.each([
    [["planVersion"], 2],
    [["planVersion"], undefined],
    [["runs", "sample"], undefined],
    [["runs", "sample"], []],
    [["runs", "sample"], ""],
    [["runs", "sample"], 7],
    [["runs"], []],
    [["corrections", "transmission", "sample"], 0],
    [["corrections", "transmission", "sample"], 1.01],
    [["corrections", "transmission", "sample"], "0.7"],
    [["corrections", "transmission", "sample"], "mesure"],
    [["corrections", "deadTime", "tau_s"], -1],
    [["corrections", "deadTime", "model"], "paralyzable"],
    [["corrections", "absolute", "method"], "direct"],
    [["corrections", "absolute", "value"], 0.03],
    [["corrections", "detectorAbsorption", "opticalDepth"], 0],
    [["corrections", "normaliseBy"], "Monitor"],
    [["metadata", "sample", "monitorCounts"], 0],
    [["metadata", "sample", "countTime_s"], 0],
    [["metadata", "sample", "thickness_mm"], 0],
    [["metadata", "all", "pixelSize_mm"], 5],
    [
      ["metadata", "all", "pixelSize_mm"],
      [5, 0],
    ],
    [
      ["metadata", "all", "beamCentre_px"],
      [1, null],
    ],
    [["mask", "edge_px"], 1.5],
    [["mask", "auto", 0], "stop"],
    [
      ["mask", "shapes", 2, "points"],
      [
        [0, 0],
        [1, 1],
      ],
    ],
    [["mask", "shapes", 0, "kind"], "circles"],
    [["averages", 0, "bins", "count"], 0],
    [["averages", 0, "bins", "count"], 1e9],
    [["averages", 0, "bins", "qMin"], 0],
    [["averages", 0, "bins", "qMin"], 0.3],
    [["averages", 0, "id"], "../up"],
    [["averages", 0, "id"], "CON"],
    [["averages", 1, "id"], "Radial"],
    [["averages", 2, "qMax"], 0.02],
    [
      ["averages", 4, "bins", "edges"],
      [0.02, 0.01],
    ],
    [["outputs", 1], "pdf"],
    [["beamCentre", "dSpacing_A"], undefined],
    [["beamCentre", "method"], "guess"],
    [["beamCentre"], "given"],
  ])("refuses %j = %j and names the place", (path, value) => {
    const faults = planFaults(withValue(path, value));
    expect(faults.length).toBeGreaterThan(0);
    const field = path
      .reduce<string>((text, key) => (typeof key === "number" ? `${text}[${key}]` : `${text}.${key}`), "")
      .slice(1);
    // A cross-check of two numbers names the second of them; a wrong element names itself or its list.
    const named = faults[0]!.field!;
    expect(field.startsWith(named) || named.startsWith(field) || named === "averages[0].bins.qMax").toBe(true);
    expect(faults[0]!.message).toContain(named);
  });

  it("lists every fault, the first one as the message's beginning", () => {
    const two = withValue(["metadata", "all", "distance_m"], -4, withValue(["corrections", "solidAngle"], "flat"));
    expect(planFaults(two).map(({ field }) => field)).toEqual(["metadata.all.distance_m", "corrections.solidAngle"]);
    const result = validatePlan(two, "plan.json");
    expect(!result.ok && result.fault).toMatchObject({ file: "plan.json", field: "metadata.all.distance_m" });
    expect(!result.ok && result.fault.message).toContain("corrections.solidAngle");
  });

  it.each([
    ["an empty cell without its transmission", { emptyCell: "c" }, {}, "corrections.transmission.emptyCell"],
    [
      "a cell's direct beam without the empty beam",
      { emptyCell: "c", emptyCellTransmission: "d" },
      {},
      "runs.emptyBeam",
    ],
    [
      "a measured transmission without its run",
      { emptyBeam: "d" },
      { transmission: "measure" },
      "runs.sampleTransmission",
    ],
    [
      "a measured transmission without the empty beam",
      { sampleTransmission: "d" },
      { transmission: { sample: "measure" } },
      "runs.emptyBeam",
    ],
    ["a direct beam that belongs to nothing", { emptyCellTransmission: "d", emptyBeam: "e" }, {}, "runs.emptyCell"],
    ["an absolute scale without a direct beam", {}, { absolute: { method: "direct-beam" } }, "runs.emptyBeam"],
    [
      "an absolute scale without normalisation",
      { emptyBeam: "d" },
      { absolute: { method: "direct-beam" }, normaliseBy: "none" },
      "corrections.normaliseBy",
    ],
    [
      "one transmission of two",
      { emptyCell: "c" },
      { transmission: { sample: 0.7, emptyCell: "none" } },
      "corrections.transmission.emptyCell",
    ],
  ])("refuses %s", (_, runs, corrections, field) => {
    const faults = planFaults({ ...small, runs: { ...small.runs, ...runs }, corrections });
    expect(faults.map((fault) => fault.field)).toContain(field);
  });

  it("names a misspelt key before the one that it leaves missing", () => {
    const faults = planFaults({ planVersion: 1, runs: { sample: { fil: "a.h5" } } });
    expect(faults.map(({ field, code }) => [field, code])).toEqual([
      ["runs.sample.fil", "out-of-range"],
      ["runs.sample.file", "missing"],
    ]);
  });

  it("says what else may stand in the place of a word", () => {
    const message = (corrections: unknown) => planFaults({ ...small, corrections })[0]!.message;
    expect(message({ transmission: "mesure" })).toContain(
      `"measure", "none" or an object {...}; the nearest is "measure"`,
    );
    expect(message({ flood: "off" })).toContain(`must be "none" or an object {...}; found "off"`);
    expect(message({ transmission: { sample: "0.7" } })).toContain("or a number > 0 and <= 1");
  });

  it.each([
    [{ method: "fwhm" }, "resolution.method"],
    [{ timeOfFlight: { path_m: 24 } }, "resolution.timeOfFlight.emission_us_sigma"],
    [{ timeOfFlight: { path_m: 0, emission_us_sigma: 1 } }, "resolution.timeOfFlight.path_m"],
    [{ wavelengthLaw: "gaussian", timeOfFlight: { path_m: 24, emission_us_sigma: 1 } }, "resolution.wavelengthLaw"],
    [{ wavelengthLaw: "triangular", method: "full-widths" }, "resolution.wavelengthLaw"],
  ])("refuses the resolution %j", (resolution, field) => {
    expect(planFaults({ ...small, resolution })[0]?.field).toBe(field);
    expect(planFaults({ ...small, resolution: { method: "full-widths" } })).toEqual([]);
  });

  it("refuses the same run twice in a list of samples, but takes two frames of one file", () => {
    expect(planFaults({ planVersion: 1, runs: { sample: ["a", "b", "a"] } })[0]?.field).toBe("runs.sample[2]");
    const frames = [
      { file: "a", frame: 0 },
      { file: "a", frame: 1 },
    ];
    expect(planFaults({ planVersion: 1, runs: { sample: frames } })).toEqual([]);
  });
});

describe("the JSON of a plan", () => {
  it.each([
    ['{"planVersion": 1,\n  "runs": {"sample": "a"},\n}', 3, 1],
    ['{"planVersion": 1 "runs": 2}', 1, 19],
    ["", 1, 1],
    ['{"a": 1}\n x', 2, 2],
    ['{\n  // why\n  "a": 1}', 2, 3],
    ['{"a": 1, "a": 2}', 1, 10],
    ['{"a": 01}', 1, 8],
    ['{"a": "x', 1, 7],
    ['["a", ', 1, 7],
  ])("of %j is wrong at line %i, column %i", (text, line, column) => {
    expect(findJsonProblem(text)).toMatchObject({ line, column });
    const result = parsePlan(text, "plan.json");
    expect(!result.ok && result.fault.message).toContain(`line ${line}, column ${column}`);
    expect(!result.ok && result.fault.file).toBe("plan.json");
  });

  it("survives nesting that would exhaust the stack", () => {
    expect(findJsonProblem("[".repeat(1e6))).toMatchObject({ what: "nested too deeply" });
  });

  it("accepts what JSON.parse accepts", () => {
    for (const text of ['{"a": [1, -2.5e3, true, null, "\\u00e9\\n"]}', " [] ", "0", '{"": {}}'])
      expect(findJsonProblem(text)).toBeUndefined();
  });
});

describe("the hash of a plan", () => {
  it("does not depend on the order of keys and is that of the canonical text", () => {
    expect(planHash({ b: 1, a: [2, { d: 3, c: 4 }] })).toBe(planHash({ a: [2, { c: 4, d: 3 }], b: 1 }));
    expect(planHash({ b: 2 })).not.toBe(planHash({ b: 1 }));
    // printf '{"planVersion":1}' | sha256sum (GNU coreutils)
    expect(planHash({ planVersion: 1 })).toBe("d50f14b8dcea16b456a0a4308278d1038b6a35d143727c44e46758019a8b88bc");
  });
});

import { unzlibSync } from "fflate";
import { expect, it } from "vitest";
import { bytesSource } from "../../core/formats/byte-source.ts";
import { openCurves } from "../../core/formats/curves/open-curves.ts";
import type { Hdf5File } from "../../core/formats/hdf5/hdf5-file.ts";
import { openRun } from "../../core/formats/index.ts";
import { OUTPUT_KINDS, type Plan } from "../../core/model/plan.ts";
import type { OutputFile } from "../../core/report/output-file.ts";
import { buildOutputs } from "../../core/report/outputs.ts";
import { openHdf5 } from "../../electron/services/open-hdf5.ts";
import { rasterise } from "../../electron/services/rasterise.ts";
import { writeHdf5 } from "../../electron/services/write-hdf5.ts";
import { decodePng } from "../support/decode-png.ts";
import type { RunParts } from "../support/run-builder.ts";
import { EXPERIMENT_PLAN, reduceExperiment, SimulatedExperiment } from "../support/simulated-experiment.ts";

const { signal } = new AbortController();
const experiment = new SimulatedExperiment();
const fine: NonNullable<Plan["averages"]> = [
  // Bins narrower than a pixel: many hold one, which scatters from nothing.
  { id: "radial", kind: "radial", bins: { spacing: "log", count: 150, qMin: 0.01, qMax: 0.11 } },
  { id: "across", kind: "box", axis: "y", halfWidth_1A: 0.002 },
  { id: "ring", kind: "annulus", qMin: 0.02, qMax: 0.03, count: 72 },
];

type Files = Record<string, RunParts>;

function changed(files: Files, name: string, change: Partial<RunParts>): Files {
  return { ...files, [name]: { ...files[name]!, ...change } };
}

function withDeadRows(files: Files): Files {
  const flood = files["flood.h5"]!;
  const counts = Float64Array.from(flood.counts as Float64Array);
  counts.fill(0, 20 * flood.width, 23 * flood.width);
  return changed(files, "flood.h5", { counts });
}

function withoutCamera(files: Files): Files {
  return Object.fromEntries(
    Object.entries(files).map(([name, parts]) => {
      const { collimation: _, sourceAperture: __, ...metadata } = parts.metadata!;
      return [name, { ...parts, metadata }];
    }),
  );
}

const drawn = experiment.drawn(3);
const empty = changed(drawn, "spheres.h5", { counts: new Float64Array(96 * 96) });
it.each<[string, Files, Plan]>([
  ["a whole experiment", drawn, EXPERIMENT_PLAN],
  ["a run of a second, most of its bins empty", experiment.drawn(4, 0.005), EXPERIMENT_PLAN],
  ["a frame without a single count", empty, EXPERIMENT_PLAN],
  ["a run that is its own cell", { ...drawn, "cell.h5": drawn["spheres.h5"]! }, EXPERIMENT_PLAN],
  ["a flood with dead rows", withDeadRows(drawn), EXPERIMENT_PLAN],
  ["a camera without apertures", withoutCamera(drawn), EXPERIMENT_PLAN],
  ["counts alone", drawn, { planVersion: 1, runs: { sample: "spheres.h5" } }],
])("no file of %s holds a number that is none", async (_, files, plan) => {
  const isDrawn = files === drawn || files === empty;
  const reduction = await reduceExperiment(files, { ...plan, averages: fine });
  const built = await buildOutputs(
    reduction,
    OUTPUT_KINDS,
    // A quarter of the size that is written, and not for every case: enough to see whether anything was drawn.
    { writeHdf5, rasterise: async (svg) => (isDrawn ? rasterise(svg, 1) : new Uint8Array()) },
    signal,
  );
  if (!built.ok) throw new Error(built.fault.message);
  const { mask } = reduction.maps;
  for (const file of built.value) {
    if (/\.(csv|txt|xml|json|svg|html)$/.test(file.path)) checkText(file);
    else if (file.path.endsWith(".npy")) await checkMap(file, mask);
    else if (file.path.endsWith(".png")) {
      if (isDrawn) checkPicture(file);
    } else if (file.path === "maps/frame.h5") await checkPlane(file, mask);
    else if (file.path === "maps/qxqy.h5") await checkPlane(file);
    else if (file.path.startsWith("curves/")) await checkCurves(file);
    else throw new Error(`nobody looks into ${file.path}`);
  }
  const paths = built.value.map(({ path }) => path);
  expect(paths.filter((path) => path.endsWith(".npy"))).toHaveLength(5);
  expect(paths).toContain("maps/frame.h5");
  expect(paths.filter((path) => path.endsWith(".png")).length).toBeGreaterThan(3);
});

/** Decodes, and holds ink: a ground colour and others besides, in more than a hundredth of the picture. */
function checkPicture({ path, bytes }: OutputFile): void {
  const { width, height, rgba } = decodePng(bytes, unzlibSync);
  const pixels = new Uint32Array(rgba.buffer, rgba.byteOffset, width * height);
  const often = new Map<number, number>();
  for (const colour of pixels) often.set(colour, (often.get(colour) ?? 0) + 1);
  expect(width * height, path).toBeGreaterThan(10_000);
  expect(1 - Math.max(...often.values()) / pixels.length, path).toBeGreaterThan(0.01);
}

/**
 * The corrected frame, or its grid of Qx and Qy, as NXcanSAS: every number is one, but for intensity and sigma where the
 * mask says so; `expected` where it is known.
 */
async function checkPlane({ path, bytes }: OutputFile, expected?: Uint16Array): Promise<void> {
  const opened = await openHdf5(bytesSource(path, bytes as Uint8Array<ArrayBuffer>));
  if (!opened.ok) throw new Error(opened.fault.message);
  const file = opened.value;
  const maskField = file.read("/sasentry01/sasdata01/Mask");
  if (!maskField.ok) throw new Error(maskField.fault.message);
  const mask = Array.from(maskField.value, (bit) => bit !== 0);
  if (expected !== undefined) expect(mask).toEqual(Array.from(expected, (bits) => bits !== 0));
  let numbers = 0;
  for (const at of numericFields(file, "/")) {
    const read = file.read(at);
    if (!read.ok) throw new Error(read.fault.message);
    const mayBeMasked = /\/sasdata01\/(I|Idev)$/.test(at);
    for (const [p, value] of read.value.entries())
      if (!Number.isFinite(value) && !(mayBeMasked && mask[p] === true))
        throw new Error(`${at} holds ${value} at ${p}`);
    numbers++;
  }
  expect(numbers).toBeGreaterThan(6);
  file.close();
}

function numericFields(file: Hdf5File, path: string): string[] {
  const node = file.node(path);
  if (!node.ok) throw new Error(node.fault.message);
  if (node.value.kind === "dataset") return node.value.type === "string" ? [] : [path];
  return node.value.children.flatMap((name) => numericFields(file, path === "/" ? `/${name}` : `${path}/${name}`));
}

it("no file of a camera without apertures holds a resolution, and the ledger says why", async () => {
  const reduction = await reduceExperiment(withoutCamera(drawn), { ...EXPERIMENT_PLAN, averages: fine.slice(0, 2) });
  const built = await buildOutputs(reduction, ["csv", "columns", "cansas-xml", "nxcansas"], { writeHdf5 }, signal);
  if (!built.ok) throw new Error(built.fault.message);
  const text = (path: string) => new TextDecoder().decode(built.value.find((file) => file.path === path)!.bytes);
  for (const row of text("curves/radial.csv").trim().split("\n").slice(1)) expect(row.split(",")[3]).toBe("");
  expect(text("curves/radial.txt")).toContain("dQ: not known");
  expect(text("curves/radial.xml")).not.toContain("<Qdev");
  for (const file of built.value.filter(({ path }) => /curves\/.*\.(h5|xml|txt)$/.test(path))) {
    const curves = await openCurves(bytesSource(file.path, file.bytes as Uint8Array<ArrayBuffer>), {
      signal,
      openHdf5,
    });
    if (!curves.ok) throw new Error(curves.fault.message);
    expect(curves.value[0]!.qSigma, file.path).toBeUndefined();
  }
  const { steps } = JSON.parse(text("ledger.json")) as {
    readonly steps: readonly { readonly step: string; readonly status: string; readonly reason?: string }[];
  };
  const { status, reason } = steps.find(({ step }) => step === "resolution")!;
  expect([status, reason]).toEqual([
    "not applied",
    expect.stringContaining("source aperture, collimation length not known"),
  ]);
});

function checkText({ path, bytes }: OutputFile): void {
  const text = new TextDecoder().decode(bytes);
  expect(text.match(/.{0,60}\b[+-]?(nan|inf|infinity|undefined)\b.{0,60}/i)?.[0], path).toBeUndefined();
}

/** Intensity and sigma of masked pixels are NaN on purpose: a map says where it knows nothing. */
async function checkMap({ path, bytes }: OutputFile, mask: Uint16Array): Promise<void> {
  const run = await openRun(bytesSource(path, bytes as Uint8Array<ArrayBuffer>), { choice: {}, signal, openHdf5 });
  if (!run.ok) throw new Error(run.fault.message);
  const frame = await run.value.banks[0]!.readFrame(0, signal);
  if (!frame.ok) throw new Error(frame.fault.message);
  const { counts } = frame.value;
  expect(counts).toHaveLength(mask.length);
  for (let p = 0; p < mask.length; p++)
    if (mask[p] === 0 && !Number.isFinite(counts[p])) throw new Error(`${path} holds ${counts[p]} at ${p}`);
}

async function checkCurves({ path, bytes }: OutputFile): Promise<void> {
  const curves = await openCurves(bytesSource(path, bytes as Uint8Array<ArrayBuffer>), { signal, openHdf5 });
  if (!curves.ok) throw new Error(curves.fault.message);
  for (const { q, intensity, sigma, qSigma } of curves.value) {
    expect(intensity.length).toBeGreaterThan(0);
    for (const column of [q, intensity, sigma!, qSigma ?? q]) expect(column.every(Number.isFinite), path).toBe(true);
    expect(sigma!.every((value) => value > 0)).toBe(true);
  }
}

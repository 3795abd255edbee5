import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import h5wasm, { Dataset, type File, Group } from "h5wasm/node";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type QxQyGrid, qxQyGrid } from "../../core/anisotropy/qxqy-grid.ts";
import { derivedCurveFile } from "../../core/report/derived-curve.ts";
import { gridTree } from "../../core/report/nxcansas.ts";
import { buildOutputs } from "../../core/report/outputs.ts";
import { writeHdf5 } from "../../electron/services/write-hdf5.ts";
import { aDerivedCurve } from "../support/derived-curve.ts";
import { rawEstimate } from "../support/estimate-builder.ts";
import { type NxdlNode, parseNxdl } from "../support/nxdl.ts";
import { aReduction, SEEDED_HEIGHT, SEEDED_WIDTH } from "../support/reduction-builder.ts";
import { hasShared, sharedFile } from "../support/shared-data.ts";

const folder = mkdtempSync(join(tmpdir(), "halation-test-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const reduction = aReduction();
const relative = aReduction({
  unit: "counts/monitor/sr",
  curves: reduction.curves.map(({ qSigma: _, ...curve }) => ({ ...curve, unit: "counts/monitor/sr" })),
  transmission: { sample: { value: 0.7 } },
});
const opened: File[] = [];

async function openGrid(): Promise<{ readonly file: File; readonly grid: QxQyGrid }> {
  const grid = qxQyGrid(reduction);
  const place = join(folder, `${opened.length}.h5`);
  writeFileSync(place, await writeHdf5(gridTree(reduction, grid)));
  opened.push(new h5wasm.File(place, "r"));
  return { file: opened.at(-1)!, grid };
}

async function open(from: typeof reduction, path: string): Promise<File> {
  const built = await buildOutputs(from, ["nxcansas"], { writeHdf5 }, new AbortController().signal);
  if (!built.ok) throw new Error(built.fault.message);
  const file = built.value.find((candidate) => candidate.path === path);
  const place = join(folder, `${opened.length}.h5`);
  writeFileSync(place, file!.bytes);
  opened.push(new h5wasm.File(place, "r"));
  return opened.at(-1)!;
}

const attribute = (node: Group | Dataset, name: string): unknown => node.attrs[name]?.value;
const values = (file: File, path: string): unknown => (file.get(path) as Dataset).value;

/** Groups of `parent` that a group definition speaks of. */
function matching(parent: Group, definition: NxdlNode): Group[] {
  const classes = definition.children.find((child) => child.name === "canSAS_class")?.allowed;
  return parent
    .keys()
    .map((key) => parent.get(key))
    .filter((node) => node instanceof Group)
    .filter((node) => attribute(node, "NX_class") === definition.type)
    .filter((node) => classes === undefined || classes.includes(String(attribute(node, "canSAS_class"))));
}

/** Everything in which `node` falls short of its definition, as paths. */
function shortfalls(node: Group | Dataset, definition: NxdlNode): string[] {
  return definition.children.flatMap((wanted): string[] => {
    const place = `${node.path}/${wanted.element === "attribute" ? "@" : ""}${wanted.name || wanted.type}`;
    if (wanted.element === "group") {
      const groups = matching(node as Group, wanted);
      if (groups.length === 0) return wanted.required ? [place] : [];
      return groups.flatMap((group) => shortfalls(group, wanted));
    }
    if (wanted.element === "field") {
      const field = (node as Group).get(wanted.name);
      if (!(field instanceof Dataset)) return wanted.required ? [place] : [];
      const text = field.value;
      const wrong = wanted.allowed.length > 0 && !wanted.allowed.includes(String(text));
      return [...(wrong ? [`${place}=${text}`] : []), ...shortfalls(field, wanted)];
    }
    const value = attribute(node, wanted.name);
    if (value === undefined) return wanted.required ? [place] : [];
    return wanted.allowed.length > 0 && !wanted.allowed.includes(String(value)) ? [`${place}=${value}`] : [];
  });
}

const NXDL = "standards/nxdl/NXcanSAS.nxdl.xml";

describe.skipIf(!hasShared(NXDL))("NXcanSAS against its definition (NXcanSAS.nxdl.xml)", () => {
  let definition: NxdlNode;
  beforeAll(() => {
    definition = parseNxdl(readFileSync(sharedFile(NXDL), "utf8"));
  });

  it("reads requirements out of the definition", () => {
    const nxentry = definition.children.find((child) => child.type === "NXentry");
    expect(nxentry?.children.find((child) => child.name === "version")).toMatchObject({
      required: true,
      allowed: ["1.1"],
    });
  });

  it("has all that is asked of a curve but a mask, which a curve can't have", async () => {
    const file = await open(reduction, "curves/radial.h5");
    // The definition's own list of the minimum has no mask for one dimension.
    expect(shortfalls(file, definition)).toEqual(["/sasentry01/sasdata01/@mask"]);
  });

  it("has all that is asked where the unit is arbitrary and the resolution unknown", async () => {
    const file = await open(relative, "curves/radial.h5");
    expect(shortfalls(file, definition)).toEqual(["/sasentry01/sasdata01/@mask"]);
  });

  it("has all that is asked of a curve that was made from others, and gives it back bit for bit", async () => {
    const curve = aDerivedCurve();
    const place = join(folder, "derived.h5");
    writeFileSync(place, await derivedCurveFile(curve, "h5", { writeHdf5, version: "1.0.0" }));
    opened.push(new h5wasm.File(place, "r"));
    const file = opened.at(-1)!;
    expect(shortfalls(file, definition)).toEqual(["/sasentry01/sasdata01/@mask"]);
    const { q: Q, intensity: I, sigma: Idev, qSigma: Qdev } = curve;
    for (const [name, written] of Object.entries({ Q, I, Idev, Qdev }))
      expect(values(file, `/sasentry01/sasdata01/${name}`)).toEqual(written);
  });

  it("has all that is asked of a frame", async () => {
    expect(shortfalls(await open(reduction, "maps/frame.h5"), definition)).toEqual([]);
  });

  it("has all that is asked of a grid of Qx and Qy", async () => {
    expect(shortfalls((await openGrid()).file, definition)).toEqual([]);
  });
});

describe("NXcanSAS", () => {
  it("gives a curve back bit for bit", async () => {
    const file = await open(reduction, "curves/flow.h5");
    const curve = reduction.curves[1]!;
    const at = "/sasentry01/sasdata01";
    expect(values(file, `${at}/Q`)).toEqual(curve.q);
    expect(values(file, `${at}/I`)).toEqual(curve.intensity);
    expect(values(file, `${at}/Idev`)).toEqual(curve.sigma);
    expect(values(file, `${at}/Qdev`)).toEqual(curve.qSigma);
  });

  it("names default, signal, axes and uncertainties that exist, in units of the standard", async () => {
    const file = await open(reduction, "curves/radial.h5");
    expect(attribute(file, "NX_class")).toBe("NXroot");
    expect(attribute(file, "creator")).toBe("Halation");
    const entry = file.get(String(attribute(file, "default"))) as Group;
    const data = entry.get(String(attribute(entry, "default"))) as Group;
    expect(attribute(data, "I_axes")).toBe("Q");
    const { Q_indices: indices } = data.attrs;
    expect(indices?.dtype).toBe("<i");
    expect([...(attribute(data, "Q_indices") as Int32Array)]).toEqual([0]);
    const [q, intensity] = [data.get("Q") as Dataset, data.get("I") as Dataset];
    expect(attribute(q, "units")).toBe("1/angstrom");
    expect(attribute(intensity, "units")).toBe("1/cm");
    expect(data.keys()).toContain(attribute(q, "resolutions"));
    expect(data.keys()).toContain(attribute(intensity, "uncertainties"));
  });

  it("says arbitrary, and in words what it is, where the scale isn't absolute", async () => {
    const file = await open(relative, "curves/radial.h5");
    const intensity = file.get("/sasentry01/sasdata01/I") as Dataset;
    expect(attribute(intensity, "units")).toBe("arbitrary");
    expect(attribute(intensity, "long_name")).toBe("intensity (counts/monitor/sr)");
    expect((file.get("/sasentry01/sasdata01") as Group).keys()).not.toContain("Qdev");
    expect((file.get("/sasentry01") as Group).keys()).not.toContain("sastransmission_spectrum01");
    expect(values(file, "/sasentry01/sassample/transmission")).toEqual(Float64Array.of(0.7));
  });

  it("holds instrument, sample and transmission with their units", async () => {
    const file = await open(reduction, "curves/radial.h5");
    const field = (path: string) => {
      const node = file.get(`/sasentry01/${path}`) as Dataset;
      return [[...(node.value as Float64Array)], attribute(node, "units")];
    };
    expect(field("sasinstrument/sasdetector/SDD")).toEqual([[4], "m"]);
    expect(field("sasinstrument/sasdetector/beam_center_x")).toEqual([[22.3], "pixel"]);
    // 10 % of 6 angstrom
    expect(field("sasinstrument/sassource/incident_wavelength_spread")[0]).toEqual([expect.closeTo(0.6, 12)]);
    expect(field("sassample/thickness")).toEqual([[0.001], "m"]);
    expect(field("sastransmission_spectrum01/T")[0]).toEqual([0.72]);
    expect(field("sastransmission_spectrum01/Tdev")[0]).toEqual([0.004]);
    expect(field("sasprocess02/tau_s")).toEqual([[2e-6], "s"]);
  });

  it("carries the whole ledger", async () => {
    const file = await open(reduction, "curves/radial.h5");
    const ledger = JSON.parse(String(values(file, "/sasentry01/sasnote/ledger")));
    expect(ledger).toEqual(JSON.parse(JSON.stringify(reduction.ledger)));
  });

  it("gives the frame back with its mask and the components of Q", async () => {
    const file = await open(reduction, "maps/frame.h5");
    const at = (name: string) => file.get(`/sasentry01/sasdata01/${name}`) as Dataset;
    for (const name of ["I", "Idev", "Q", "Qx", "Qy", "Mask"]) {
      expect(at(name).shape).toEqual([SEEDED_HEIGHT, SEEDED_WIDTH]);
    }
    expect(at("I").value).toEqual(reduction.maps.intensity);
    expect(at("Q").value).toEqual(reduction.maps.q);
    expect(at("Mask").value).toEqual(Uint8Array.from(reduction.maps.mask, (bits) => Number(bits !== 0)));
    const data = file.get("/sasentry01/sasdata01") as Group;
    expect(attribute(data, "I_axes")).toEqual(["Q", "Q"]);
    expect([...(attribute(data, "Q_indices") as Int32Array)]).toEqual([0, 1]);
  });

  it("gives a grid of Qx and Qy back, with the length of Q that belongs to each cell", async () => {
    const { file, grid } = await openGrid();
    const read = (name: string) => values(file, `/sasentry01/sasdata01/${name}`) as Float64Array;
    expect(read("I")).toEqual(grid.intensity);
    expect(read("Idev")).toEqual(grid.sigma);
    const k = (2 * Math.PI) / reduction.geometry.wavelength;
    const [qx, qy, q] = [read("Qx"), read("Qy"), read("Q")];
    for (let p = 0; p < q.length; p++) {
      expect(qx[p]).toBe(grid.qx[p % grid.width]);
      expect(qy[p]).toBe(grid.qy[Math.floor(p / grid.width)]);
      // Elastic: |k + Q| = k with k along z, so Qz = -Q^2/(2k), and the three components make up Q.
      const qz = (-q[p]! * q[p]!) / (2 * k);
      expect(Math.abs(Math.hypot(qx[p]!, qy[p]!, qz) - q[p]!)).toBeLessThan(1e-12);
    }
    expect(Array.from(values(file, "/sasentry01/sasdata01/Mask") as Uint8Array)).toEqual(
      Array.from(grid.pixels, (pixels) => (pixels === 0 ? 1 : 0)),
    );
  });

  it("gives the grid of a reduction every count of its unmasked pixels", async () => {
    const { mask } = reduction.estimate;
    const counted = Float64Array.from(mask, (_, p) => (7 * p) % 23);
    const estimate = rawEstimate(SEEDED_WIDTH, SEEDED_HEIGHT, counted, undefined, mask);
    const file = await open(aReduction({ estimate }), "maps/qxqy.h5");
    const counts = values(file, "/sasentry01/sasdata01/counts") as Float64Array;
    const unmasked = counted.filter((_, p) => mask[p] === 0);
    const total = (list: Float64Array) => list.reduce((sum, value) => sum + value, 0);
    expect(total(unmasked)).toBeGreaterThan(0);
    expect(total(counts)).toBe(total(unmasked));
    expect(values(file, "/sasentry01/sasdata01/I")).toEqual(qxQyGrid({ ...reduction, estimate }).intensity);
  });

  it("uses names that NeXus allows", async () => {
    const odd = reduction.ledger.steps.map((step) => ({ ...step, parameters: { "a b/c": 1, name: "x", "": "y" } }));
    const file = await open(aReduction({ ledger: { ...reduction.ledger, steps: odd } }), "curves/radial.h5");
    for (const path of file.paths()) {
      for (const name of path.split("/").filter((part) => part !== "")) {
        // Rule of the NeXus manual, "Rules for storing data items": names.
        expect(name).toMatch(/^[a-zA-Z0-9_]([a-zA-Z0-9_.]*[a-zA-Z0-9_])?$/);
      }
    }
  });
});

import { gzipSync } from "node:zlib";
import { describe, expect, it } from "vitest";
import { bytesSource } from "../../../core/formats/byte-source.ts";
import { openCurves } from "../../../core/formats/curves/open-curves.ts";
import {
  diskSource,
  fixture,
  fixtureBytes,
  messageOf,
  neverAborted,
  openSource,
  readContext,
  unwrap,
} from "../../support/open-file.ts";
import { hasShared, sharedFile } from "../../support/shared-data.ts";

const read = (text: string | Uint8Array<ArrayBuffer>, name = "curve.xml") =>
  openCurves(bytesSource(name, typeof text === "string" ? new TextEncoder().encode(text) : text), readContext());
const one = async (text: string, name?: string) => unwrap(await read(text, name))[0]!;
const shared = async (name: string) => unwrap(await openCurves(diskSource(sharedFile(name)), readContext()));

/** log-log interpolation between the points around `q`. */
function intensityAt(curve: { q: Float64Array; intensity: Float64Array }, q: number): number {
  const i = curve.q.findIndex((value) => value >= q);
  const [q0, q1, i0, i1] = [curve.q[i - 1]!, curve.q[i]!, curve.intensity[i - 1]!, curve.intensity[i]!];
  const part = Math.log(q / q0) / Math.log(q1 / q0);
  return Math.exp(Math.log(i0) + part * Math.log(i1 / i0));
}

// The published glassy-carbon round robin of canSAS; its numbers were read from the files with Python.
const CURVES = "data/curves/C4_D22_6A.xml";
describe.skipIf(!hasShared(CURVES))("published curves", () => {
  it.each([
    ["C4_D11_6A", 114, [0.0074285, 6.0117, 0.18414], [0.51371, 0.082085, 0.0030073], [5.4868, 4.9176, 4.2013, 1.4013]],
    ["C4_D22_6A", 197, [0.01257, 5.543, 0.07739], [0.6557, 0.04192, 0.004221], [5.3683, 4.7712, 4.2366, 1.4466]],
    ["G9_D11_6A", 114, [0.0066848, 6.3101, 0.58832], [0.51371, 0.075448, 0.0029451], [5.2424, 4.6783, 4.0449, 1.3491]],
    ["G9_D22_6A", 197, [0.01256, 5.381, 0.07456], [0.6555, 0.03275, 0.002888], [5.1746, 4.592, 4.0943, 1.4097]],
  ])("%s in canSAS XML and in columns", async (name, points, first, last, between) => {
    for (const kind of ["xml", "txt"]) {
      const [curve] = await shared(`data/curves/${name}.${kind}`);
      const { q, intensity, sigma } = curve!;
      expect(q.length).toBe(points);
      expect([q[0], intensity[0], sigma![0]]).toEqual(first);
      expect([q.at(-1), intensity.at(-1), sigma!.at(-1)]).toEqual(last);
      expect(curve!.qUnit).toBe("1/angstrom");
      // The known answers have five digits.
      for (const [i, value] of [0.02, 0.05, 0.1, 0.2].entries())
        expect(intensityAt(curve!, value)).toBeCloseTo(between[i]!, 4);
    }
  });

  it("keep the extra columns of a text file, and drop empty ones", async () => {
    const [wide] = await shared("data/curves/C4_D22_6A.txt");
    expect(wide!.qSigma![0]).toBe(0.00286);
    expect(Object.values(wide!.extra).map((values) => values[0])).toEqual([0.01287, 1]);
    const [narrow] = await shared("data/curves/C4_D11_6A.txt");
    expect(narrow!.qSigma).toBeUndefined();
    expect(narrow!.extra).toEqual({});
  });

  it("tell of a repeated Q", async () => {
    const [curve] = await shared("data/curves/C4_D22_6A.xml");
    expect(curve!.notes).toContain("Q = 0.1043 is repeated at point 63");
    expect(curve!.unit).toBe("1/cm");
  });

  it("without deviations, in a unit that can't be converted, in XML and in HDF5", async () => {
    for (const kind of ["xml", "h5"]) {
      const [curve] = await shared(`data/curves/gc14-dls-i22.${kind}`);
      expect(curve!.q.length).toBe(244);
      expect([curve!.q[0], curve!.intensity[0], curve!.unit]).toEqual([0.00972, 0.0021855, "electrons/nm3"]);
      expect(curve!.sigma).toBeUndefined();
      expect(curve!.metadata.wavelength?.value).toBeCloseTo(1.393, 12);
      expect(curve!.metadata.thickness?.value).toBe(0.001);
    }
    const [hdf5] = await shared("data/curves/gc14-dls-i22.h5");
    expect(hdf5!.notes.join()).toContain('@uncertainties of /sasentry/sasdata/I names "Idev", which is not there');
  });

  it("with deviations of both in NXcanSAS", async () => {
    const [curve] = await shared("data/curves/cs_collagen.h5");
    expect([curve!.q.length, curve!.sigma!.length, curve!.qSigma!.length]).toEqual([125, 125, 125]);
    expect(curve!.unit).toBe("a.u.");
  });

  it.each([
    ["example_02_2D_image.h5", 0.13737946],
    ["example_03_2D_image_and_uncertainties.h5", 0.23545719],
    ["example_04_2D_vector.h5", 0.87592418],
    ["example_06_2D_Masked.h5", 0.38873348],
  ])("%s is a map: refused as a curve, opened as a frame", async (name, first) => {
    const path = sharedFile(`data/images2d/${name}`);
    expect(messageOf(await openCurves(diskSource(path), readContext()))).toContain("1 maps of intensity and no curve");
    const run = unwrap(await openSource(diskSource(path)));
    const frame = unwrap(await run.banks[0]!.readFrame(0, neverAborted));
    run.close();
    expect([frame.width, frame.height]).toEqual([50, 10]);
    expect(frame.counts[0]).toBeCloseTo(first, 8);
    if (name.includes("Masked")) expect(frame.mask.some((bits) => bits !== 0)).toBe(true);
    if (name.includes("uncertainties")) expect(frame.variance?.length).toBe(500);
  });
});

const document = (inside: string, namespace = "urn:cansas1d:1.1") =>
  `<?xml version="1.0"?><SASroot version="1.1" xmlns="${namespace}"><SASentry><Title>T &amp; U</Title><Run>7</Run>${inside}</SASentry></SASroot>`;
const point = (q: string, i: string, more = "") =>
  `<Idata><Q unit="1/nm">${q}</Q><I unit="1/cm">${i}</I>${more}</Idata>`;

describe("canSAS XML", () => {
  it("converts Q, keeps intensities, and reads every SASdata", async () => {
    const text = document(
      `<SASdata name="a">${point("1", "5")}${point("2.5", "4")}</SASdata><SASdata name="b">${point("3", "2")}</SASdata>`,
    );
    const curves = unwrap(await read(text));
    expect(curves.map(({ name, title }) => [name, title])).toEqual([
      ["a", "T & U"],
      ["b", "T & U"],
    ]);
    expect(Array.from(curves[0]!.q)).toEqual([0.1, 0.25]);
    expect(Array.from(curves[0]!.intensity)).toEqual([5, 4]);
    expect(curves[0]!.metadata.runNumber?.value).toBe("7");
  });

  it("passes over comments in numbers, other namespaces and points that are no numbers", async () => {
    const odd = `<Idata><Q unit="1/A">0.<!-- c -->2</Q><I unit="a.u.">3</I><x:Q xmlns:x="urn:other">9</x:Q><Idev unit="a.u.">0.5</Idev></Idata>`;
    const curve = await one(
      document(
        `<SASdata>${odd}<Idata><Q unit="1/A">0.3</Q><I unit="a.u.">INF</I></Idata><Idata><Q unit="1/A">0.4</Q><I unit="a.u.">1</I></Idata></SASdata>`,
      ),
    );
    expect(Array.from(curve.q)).toEqual([0.2, 0.4]);
    expect(Array.from(curve.sigma!)).toEqual([0.5, Number.NaN]);
    expect(curve.notes.join()).toContain("1 points without a finite");
  });

  it("takes deviations of 0 everywhere as not given, and a slit's as none", async () => {
    const zeros = await one(document(`<SASdata>${point("1", "5", '<Idev unit="1/cm">0</Idev>')}</SASdata>`));
    expect(zeros.sigma).toBeUndefined();
    const slit = await one(
      document(`<SASdata>${point("1", "5", '<dQw unit="1/nm">0.1</dQw><dQl unit="1/nm">0.2</dQl>')}</SASdata>`),
    );
    expect(slit.qSigma).toBeUndefined();
    expect(slit.notes.join()).toContain("dQw and dQl");
  });

  it("reads sample and instrument with their units", async () => {
    const more = `<SASsample><ID>s</ID><thickness unit="cm">0.1</thickness><transmission>0.7</transmission></SASsample>
      <SASinstrument><name>n</name><SASsource><radiation>neutron</radiation><wavelength unit="nm">0.6</wavelength></SASsource>
      <SASdetector><name>d</name><SDD unit="mm">4000</SDD></SASdetector></SASinstrument>`;
    const { metadata } = await one(document(`<SASdata>${point("1", "5")}</SASdata>${more}`));
    expect(metadata).toMatchObject({
      thickness: { value: 0.001, from: "SASsample/thickness" },
      transmission: { value: 0.7 },
      wavelength: { value: 6, asWritten: "0.6 nm" },
      distance: { value: 4 },
      instrument: { value: "n" },
    });
  });

  it("refuses document types, other documents, deep nesting and what isn't well-formed", async () => {
    const fault = async (text: string) => messageOf(await read(text));
    expect(await fault('<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "c">]><SASroot/>')).toContain(
      "document types are not accepted",
    );
    expect(await fault("<html><body/></html>")).toContain("the root element is html, not SASroot");
    expect(await fault(`<SASroot>${"<a>".repeat(100_000)}`)).toContain("nested deeper than 64");
    expect(await fault(document("<SASdata>").slice(0, 150))).toMatch(/curve\.xml, line 1: /);
    expect(await fault(document(`<SASdata>${point("1", "5").replace("</Q>", "</P>")}</SASdata>`))).toMatch(/line 1: /);
    expect(await fault(document("<SASdata/>"))).toContain("no SASdata with points");
    expect(await fault('<?xml version="1.0"?><SASroot>&evil;</SASroot>')).toMatch(/line 1/);
  });
});

describe("NXcanSAS", () => {
  const all = async (file = "curves.h5") => unwrap(await openCurves(diskSource(fixture(file)), readContext()));
  const q = Float64Array.from({ length: 30 }, (_, i) => (i + 1) / 100);

  it("is found by canSAS_class, by the older SAS_class, and by the definition where there is neither", async () => {
    const byClass = await all();
    expect(byClass.map(({ name }) => name).sort()).toEqual([
      "bare",
      "by_the_standard",
      "names_what_is_not_there",
      "nanometres",
      "older_class",
      "one_text",
      "scaled",
      "slit",
    ]);
    const byDefinition = await all("curves-by-definition.h5");
    expect(byDefinition.map(({ name }) => name)).toEqual(["by_definition"]);
    for (const { q: read, qUnit, unit } of [...byClass, ...byDefinition]) {
      expect(qUnit).toBe("1/angstrom");
      expect(unit).toBe("1/cm");
      for (const [i, value] of q.entries()) expect(read[i]).toBeCloseTo(value, 15);
    }
  });

  it("gives intensity, sigma and resolution by their attributes", async () => {
    const curves = new Map((await all()).map((curve) => [curve.name, curve]));
    const at = (name: string) => curves.get(name)!;
    // I(0.1) = 100 / (1 + 2^2) = 20.
    const seen = (name: string) => [at(name).intensity[9], at(name).sigma?.[9], at(name).qSigma?.[9]];
    const whole = [20, 0.4, 0.005];
    for (const name of ["by_the_standard", "older_class", "nanometres", "one_text", "names_what_is_not_there"])
      for (const [i, value] of whole.entries()) expect(seen(name)[i], name).toBeCloseTo(value, 12);
    expect(seen("scaled")).toEqual([10, 0.2, expect.closeTo(0.005, 12)]);
    expect(seen("bare")).toEqual([20, undefined, undefined]);
    expect(seen("slit")).toEqual([20, 0.4, undefined]);
    expect(at("slit").notes.join()).toContain("dQw, dQl");
    expect(at("names_what_is_not_there").notes.join()).toContain('names "absent", which is not there');
  });
});

describe("columns", () => {
  it("are found by their names, in any order", async () => {
    const curve = await one("I,dI,Q,pixels\n5,0.1,0.01,7\n4,0.2,0.02,9\n", "c.csv");
    expect([curve.q[1], curve.intensity[1], curve.sigma![1], curve.extra["pixels"]![1]]).toEqual([0.02, 4, 0.2, 9]);
  });

  it("without a unit are in 1/angstrom only where the numbers allow it", async () => {
    expect((await one("0.01 5\n0.02 4\n", "c.txt")).notes.join()).toContain("taken as 1/angstrom");
    const large = await one("0.5 5\n5 4\n", "c.txt");
    expect(large.qUnit).toBe("unknown");
    expect((await one("# Q in 1/nm, I in 1/cm\n0.5 5\n5 4\n", "c.txt")).q[1]).toBe(0.5);
  });

  it("over an azimuth are not a curve", async () => {
    expect(messageOf(await read("phi,I,dI\n0,1,1\n5,1,1\n", "ring.csv"))).toContain("profile over the azimuth");
  });
});

it("curves open from gzip too", async () => {
  const packed = new Uint8Array(gzipSync(document(`<SASdata>${point("1", "5")}</SASdata>`)));
  expect(unwrap(await read(packed, "c.xml.gz"))[0]!.q[0]).toBe(0.1);
  expect(messageOf(await read(packed.slice(0, 60), "c.xml.gz"))).toContain("gzip");
});

it("curves open from an archive, and what holds none is told of", async () => {
  const curves = unwrap(await openCurves(bytesSource("curves.zip", fixtureBytes("curves.zip")), readContext()));
  expect(curves.map(({ file }) => file)).toEqual(["a.txt", "sub/b.dat"]);
  expect(Array.from(curves[1]!.intensity)).toEqual(Array.from({ length: 10 }, (_, i) => 99 - i));
  expect(curves[0]!.notes.join()).toContain('"notes.txt" in the archive is left out');
});

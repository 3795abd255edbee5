import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { SaxesParser } from "saxes";
import { afterAll, describe, expect, it } from "vitest";
import { derivedCurveFile } from "../../core/report/derived-curve.ts";
import { buildOutputs } from "../../core/report/outputs.ts";
import { aDerivedCurve } from "../support/derived-curve.ts";
import { aCurve, aReduction } from "../support/reduction-builder.ts";
import { hasShared, sharedFile } from "../support/shared-data.ts";

const services = { version: "1.0.0", writeHdf5: () => Promise.reject(new Error("XML needs no HDF5")) };
const folder = mkdtempSync(join(tmpdir(), "halation-test-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function xmlOf(reduction = aReduction()): Promise<string> {
  const built = await buildOutputs(reduction, ["cansas-xml"], {}, new AbortController().signal);
  if (!built.ok) throw new Error(built.fault.message);
  return new TextDecoder().decode(built.value.find((file) => file.path === "curves/radial.xml")!.bytes);
}

/** Element contents by name, in document order, and the units of each. */
function elements(xml: string): Map<string, { readonly text: string; readonly unit: string | undefined }[]> {
  const found = new Map<string, { text: string; unit: string | undefined }[]>();
  const open: { name: string; text: string; unit: string | undefined }[] = [];
  const parser = new SaxesParser();
  parser.on("opentag", ({ name, attributes: { unit } }) => open.push({ name, text: "", unit }));
  parser.on("text", (text) => {
    const last = open.at(-1);
    if (last !== undefined) last.text += text;
  });
  parser.on("closetag", () => {
    const { name, ...content } = open.pop()!;
    found.set(name, [...(found.get(name) ?? []), content]);
  });
  parser.write(xml).close();
  return found;
}

const { qSigma: _, ...unresolved } = aCurve({ unit: "counts/monitor/sr" });
const bare = aReduction({
  metadata: {},
  collimation: {},
  transmission: {},
  unit: "counts/monitor/sr",
  curves: [unresolved],
  title: "a\u0000b\u0007 <&> \ud800 ☃",
});

const XSD = "standards/cansas1d.xsd";
const hasXmllint = spawnSync("xmllint", ["--version"]).status === 0;
if (!hasXmllint)
  process.stderr.write("skipped: xmllint is not installed, so canSAS XML is not held against its schema\n");

describe.skipIf(!hasXmllint || !hasShared(XSD))("canSAS XML against the schema of canSAS1D 1.1", () => {
  function complaints(xml: string): string {
    const place = join(folder, "curve.xml");
    writeFileSync(place, xml);
    const run = spawnSync("xmllint", ["--nonet", "--noout", "--schema", sharedFile(XSD), place], { encoding: "utf8" });
    return run.status === 0 ? "" : run.stderr;
  }

  it("is valid with everything known and with nothing known", async () => {
    expect(complaints(await xmlOf())).toBe("");
    expect(complaints(await xmlOf(bare))).toBe("");
  });

  it("is valid for a curve that was made from others", async () => {
    expect(complaints(new TextDecoder().decode(await derivedCurveFile(aDerivedCurve(), "xml", services)))).toBe("");
  });

  it("would be refused with its elements out of order", async () => {
    const swapped = (await xmlOf()).replace(/(<Q unit.*?<\/Q>)(<I unit.*?<\/I>)/, "$2$1");
    expect(complaints(swapped)).toContain("This element is not expected");
  });
});

describe("canSAS XML", () => {
  it("gives a curve back to nine digits, with units", async () => {
    const curve = aCurve();
    const found = elements(await xmlOf());
    const column = (name: string) => found.get(name)!.map(({ text }) => Number(text));
    const pairs = [
      [column("Q"), curve.q],
      [column("I"), curve.intensity],
      [column("Idev"), curve.sigma],
      [column("Qdev"), curve.qSigma!],
    ] as const;
    for (const [read, written] of pairs) {
      expect(read).toHaveLength(written.length);
      // Half a unit in the ninth digit.
      read.forEach((value, b) => {
        expect(Math.abs(value / written[b]! - 1)).toBeLessThanOrEqual(5e-9);
      });
    }
    expect(found.get("Q")![0]!.unit).toBe("1/A");
    expect(found.get("I")![0]!.unit).toBe("1/cm");
    for (const { text } of found.get("I")!)
      expect(text.replace(/e.*|[.-]/g, "").replace(/^0+/, "").length).toBeLessThan(10);
  });

  it("keeps title, sample and process readable", async () => {
    const found = elements(await xmlOf());
    expect(found.get("Title")![0]!.text).toBe('Nanorods <at rest> & "sheared"');
    expect(found.get("ID")![0]!.text).toBe("Nanorods in water");
    expect(found.get("transmission")![0]!.text).toBe("0.72");
    expect(found.get("thickness")![0]).toEqual({ text: "1", unit: "mm" });
    expect(found.get("wavelength_spread")![0]).toEqual({ text: "0.1", unit: "fraction" });
    expect(found.get("SASprocess")).toHaveLength(6);
    expect(found.get("SASnote")![0]!.text).toContain("not applied: detector sensitivity (flood)");
  });

  it("says a.u. and leaves Qdev out where scale and resolution aren't known", async () => {
    const found = elements(await xmlOf(bare));
    expect(found.get("I")![0]!.unit).toBe("a.u.");
    expect(found.has("Qdev")).toBe(false);
    expect(found.has("transmission")).toBe(false);
    expect(found.get("Title")![0]!.text).toBe("a b <&> ☃");
  });
});

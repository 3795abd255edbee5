import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { bytesSource } from "../../core/formats/byte-source.ts";
import type { LoadedCurve } from "../../core/formats/curves/loaded-curve.ts";
import { openCurves } from "../../core/formats/curves/open-curves.ts";
import type { Curve } from "../../core/model/curve.ts";
import type { OutputKind } from "../../core/plan/plan.ts";
import { npyBytes } from "../../core/report/npy.ts";
import { buildOutputs } from "../../core/report/outputs.ts";
import { writeHdf5 } from "../../electron/services/write-hdf5.ts";
import { neverAborted, openBytes, readContext, unwrap } from "../support/open-file.ts";
import { aCurve, aReduction } from "../support/reduction-builder.ts";

/** What is written is read back by this program itself, to the last bit where the format can hold it. */
async function throughFile(curve: Curve, kind: OutputKind, path: string): Promise<LoadedCurve> {
  const reduction = aReduction({ curves: [curve], profiles: [] });
  const files = unwrap(await buildOutputs(reduction, [kind], { writeHdf5 }, neverAborted));
  const file = files.find((one) => one.path === path);
  if (file === undefined) throw new Error(`${path} is not among ${files.map((one) => one.path).join()}`);
  const [read, another] = unwrap(await openCurves(bytesSource(path, file.bytes), readContext()));
  expect(another).toBeUndefined();
  return read!;
}

/** Any double that a curve may hold: what is finite, of all sizes and signs. */
const value = fc.oneof(
  fc.double({ noNaN: true, noDefaultInfinity: true }),
  fc.double({ min: -1e6, max: 1e6, noNaN: true }),
);
const positive = fc.double({ min: 1e-12, max: 1e6, noNaN: true });
const point = fc.record({ step: fc.double({ min: 1e-9, max: 1e-2, noNaN: true }), i: value, s: positive, r: positive });
const curves = fc.array(point, { minLength: 5, maxLength: 30 }).map((points): Curve => {
  let q = 0;
  const column = (pick: (p: (typeof points)[number]) => number) => Float64Array.from(points, pick);
  const plain = aCurve();
  return {
    ...plain,
    q: column(({ step }) => {
      q += step;
      return q;
    }),
    intensity: column(({ i }) => i + 0),
    sigma: column(({ s }) => s),
    qSigma: column(({ r }) => r),
    pixels: column(() => 3),
    counts: column(() => 11),
    norm: column(() => 1),
    scatterSigma: column(({ s }) => s),
    chi2: column(() => 1),
    zeroCounts: new Uint8Array(points.length),
    bin: Int32Array.from(points.keys()),
  };
});

/** Numbers that xs:float holds: it ends at 3.4e38, and the exact doubles are in the other files. */
const singles = curves.map((curve) => ({
  ...curve,
  intensity: curve.intensity.map((x) => (Math.abs(x) < 1e37 && Math.abs(x) > 1e-37 ? x : 0)),
}));

const bits = (values: Float64Array | undefined) => Array.from(values ?? []);

describe("a curve comes back bit for bit", () => {
  it.each([
    ["csv", "curves/radial.csv"],
    ["columns", "curves/radial.txt"],
    ["nxcansas", "curves/radial.h5"],
  ] as const)("through %s", { timeout: 60_000 }, async (kind, path) => {
    await fc.assert(
      fc.asyncProperty(curves, async (curve) => {
        const read = await throughFile(curve, kind, path);
        expect(bits(read.q)).toEqual(bits(curve.q));
        expect(bits(read.intensity)).toEqual(bits(curve.intensity));
        expect(bits(read.sigma)).toEqual(bits(curve.sigma));
        expect(bits(read.qSigma)).toEqual(bits(curve.qSigma));
        expect(read.qUnit).toBe("1/angstrom");
      }),
      { seed: 20_261_125, numRuns: kind === "nxcansas" ? 15 : 60 },
    );
  });
});

it("a curve comes back to nine digits through canSAS XML, whose numbers are xs:float", {
  timeout: 60_000,
}, async () => {
  await fc.assert(
    fc.asyncProperty(singles, async (curve) => {
      const read = await throughFile(curve, "cansas-xml", "curves/radial.xml");
      const columns = [
        [read.q, curve.q],
        [read.intensity, curve.intensity],
        [read.sigma, curve.sigma],
        [read.qSigma, curve.qSigma],
      ] as const;
      for (const [found, meant] of columns) {
        expect(found).toHaveLength(meant!.length);
        // Half a unit of the ninth digit is 5e-9 of the smallest number with nine digits.
        found!.forEach((x, i) => {
          expect(Math.abs(x - meant![i]!)).toBeLessThanOrEqual(5.0001e-9 * Math.abs(meant![i]!));
        });
      }
    }),
    { seed: 20_261_125, numRuns: 60 },
  );
});

describe("each curve file carries", () => {
  it.each([
    ["cansas-xml", "curves/radial.xml"],
    ["nxcansas", "curves/radial.h5"],
    ["columns", "curves/radial.txt"],
  ] as const)("unit, title and resolution: %s", async (kind, path) => {
    const read = await throughFile(aCurve(), kind, path);
    expect(read).toMatchObject({ unit: "1/cm", qUnit: "1/angstrom" });
    expect(read.sigma).toHaveLength(60);
    expect(read.qSigma).toHaveLength(60);
    expect(read.title).toContain('Nanorods <at rest> & "sheared"');
  });

  it("the ledger, as a whole or as the hash of its plan", async () => {
    const reduction = aReduction();
    const kinds: OutputKind[] = ["cansas-xml", "nxcansas", "columns"];
    const files = unwrap(await buildOutputs(reduction, kinds, { writeHdf5 }, neverAborted));
    const textOf = (path: string) => Buffer.from(files.find((one) => one.path === path)!.bytes).toString("latin1");
    const step = reduction.ledger.steps[0]!.step;
    expect(textOf("curves/radial.xml")).toContain(step);
    expect(textOf("curves/radial.h5")).toContain(step);
    expect(textOf("curves/radial.txt")).toContain("# plan: sha256");
  });
});

it("a map comes back bit for bit through NPY, and masks what is no number", async () => {
  const sides = fc.record({ width: fc.integer({ min: 2, max: 9 }), height: fc.integer({ min: 2, max: 9 }) });
  const maps = sides.chain(({ width, height }) =>
    fc.record({
      width: fc.constant(width),
      height: fc.constant(height),
      values: fc.float64Array({ minLength: width * height, maxLength: width * height }),
    }),
  );
  await fc.assert(
    fc.asyncProperty(maps, async ({ width, height, values }) => {
      const run = unwrap(await openBytes("map.npy", npyBytes(Float64Array.from(values), { width, height })));
      const frame = unwrap(await run.banks[0]!.readFrame(0, neverAborted));
      run.close();
      expect(frame).toMatchObject({ width, height });
      expect(Array.from(frame.counts)).toEqual(Array.from(values));
      expect(Array.from(frame.mask, (m) => m !== 0)).toEqual(Array.from(values, (v) => !Number.isFinite(v)));
    }),
    { seed: 20_261_125, numRuns: 100 },
  );
});

import { describe, expect, it } from "vitest";
import type { Curve, Profile } from "../../../../core/model/curve.ts";
import { tableText } from "../../../../renderer/copy/copy-table.ts";

function columns(values: readonly number[]) {
  const zeros = new Float64Array(values.length);
  return {
    ...{ intensity: Float64Array.from(values), sigma: Float64Array.from(values, (value) => value / 8) },
    ...{ pixels: zeros, counts: zeros, norm: zeros, scatterSigma: zeros, chi2: zeros },
    ...{ zeroCounts: new Uint8Array(values.length), bin: Int32Array.from(values.keys()) },
  };
}

const long: Curve = {
  ...{ kind: "radial", id: "radial", unit: "1/cm", ...columns([4, Number.NaN, 1e-20]) },
  ...{ q: Float64Array.of(0.01, 0.1 + 0.2, 0.5), qSigma: Float64Array.of(0.001, Number.NaN, 0.002) },
};
const short: Curve = { kind: "sector", id: "flow", unit: "1/cm", ...columns([2]), q: Float64Array.of(0.02) };

describe("tableText", () => {
  it("has a line of names with units, every digit, and nothing where nothing is known", () => {
    expect(tableText([{ label: "radial", data: long }]).split("\n")).toEqual([
      "radial Q (1/Å)\tradial I (1/cm)\tradial dI (1/cm)\tradial dQ (1/Å)",
      "0.01\t4\t0.5\t0.001",
      "0.30000000000000004\t\t\t",
      "0.5\t1e-20\t1.25e-21\t0.002",
      "",
    ]);
  });

  it("sets curves beside each other, with as many fields in every line", () => {
    const text = tableText([
      { label: "radial", data: long },
      { label: "a\tname\nwith breaks", data: short },
    ]);
    const lines = text.slice(0, -1).split("\n");
    expect(lines).toHaveLength(4);
    expect(lines.map((line) => line.split("\t").length)).toEqual([7, 7, 7, 7]);
    expect(lines[0]?.split("\t")[4]).toBe("a name with breaks Q (1/Å)");
    expect(lines[1]?.split("\t").slice(4)).toEqual(["0.02", "2", "0.25"]);
    expect(lines[2]?.split("\t").slice(4)).toEqual(["", "", ""]);
  });

  it("gives a profile its angles in degrees", () => {
    const phi = Float64Array.of(0, Math.PI / 2);
    const ring: Profile = {
      kind: "annulus",
      id: "ring",
      unit: "1/cm",
      ...columns([1, 2]),
      phi,
      qMin: 0.02,
      qMax: 0.03,
    };
    expect(
      tableText([{ label: "ring", data: ring }])
        .split("\n")
        .slice(0, 3),
    ).toEqual(["ring phi (deg)\tring I (1/cm)\tring dI (1/cm)", "0\t1\t0.125", "90\t2\t0.25"]);
  });
});

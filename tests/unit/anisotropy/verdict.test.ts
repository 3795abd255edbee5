import { describe, expect, it } from "vitest";
import { analyseAnisotropy } from "../../../core/anisotropy/analyse.ts";
import { anisotropyJson } from "../../../core/anisotropy/report-json.ts";
import { anisotropyVerdict, isotropicAbove } from "../../../core/anisotropy/verdict.ts";
import { seriesCsv } from "../../../core/report/anisotropy-table.ts";
import { FlatBank } from "../../support/anisotropy-frames.ts";
import { poissonSource } from "../../support/random.ts";

const bank = new FlatBank({ x: 46.3, y: 48.9 });
const annuli = [{ id: "ring", qMin: 0.02, qMax: 0.04 }];
const fall = (q: number) => 1 / (1 + (q / 0.02) ** 2);

function reportOf(pattern: (phi: number, q: number) => number, mask?: Uint16Array, total = 1e6) {
  const draw = poissonSource(6);
  return analyseAnisotropy(
    bank.ground(
      bank.frame(total, pattern).map((mean) => draw(mean)),
      mask,
    ),
    { annuli },
  );
}

describe("the verdict", () => {
  it("tells the Q above which the scattering is isotropic", () => {
    const report = reportOf((phi, q) => fall(q) * (1 + (q < 0.06 ? 0.6 : 0) * Math.cos(2 * (phi - 0.3))));
    const above = isotropicAbove(report)!;
    // The end falls into an annulus of the spectrum, which are some 14 % wide.
    expect(above).toBeGreaterThan(0.06);
    expect(above).toBeLessThan(0.075);
    expect(anisotropyVerdict(report).sentence).toMatch(
      /^Anisotropic along 17\.\d+ ± .*; isotropic above 0\.0\d+ 1\/Å\.$/,
    );
  });

  it("says isotropic with the alignment that could hide in the noise, and gives no axis", () => {
    const report = reportOf((_phi, q) => fall(q), undefined, 2e4);
    expect(anisotropyVerdict(report).verdict).toBe("isotropic");
    expect(anisotropyVerdict(report).sentence).toMatch(
      /^Isotropic within counting statistics .* alignment factor 0\.0/,
    );
  });

  it("cannot tell where all angles of the annulus but a few are masked, or nothing was counted; null, never 0", () => {
    const narrow = Uint16Array.from(bank.phi, (phi) => (phi < 0.05 ? 0 : 64));
    const empty = reportOf(() => 1, undefined, 0);
    for (const report of [reportOf((_phi, q) => fall(q), narrow), empty]) {
      expect(anisotropyVerdict(report).verdict).toBe("cannot-tell");
      const [ring] = anisotropyJson(report)["annuli"] as Record<string, unknown>[];
      for (const key of ["axis_deg", "axis_deg_sigma", "alignment", "alignment_sigma", "p2", "p2_sigma", "pIsotropic"])
        expect(ring![key], key).toBeNull();
    }
  });

  it("asks for an annulus where there is none", () => {
    expect(anisotropyVerdict(undefined).sentence).toBe("Add an annulus to measure anisotropy.");
  });
});

describe("the table of a series", () => {
  it("quotes what would break a line, and leaves cells empty where nothing is known", () => {
    const rows = seriesCsv(
      [{ file: 'a, "b".h5', annuli: [{ id: "ring", qMin: 0.02, qMax: 0.04, measures: undefined }] }],
      { label: "T", unit: "K", values: [undefined] },
    ).split("\n");
    expect(rows[1]).toBe('"a, ""b"".h5",,ring,0.02,0.04,,,,,,,,');
  });
});

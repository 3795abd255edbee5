import { describe, expect, it } from "vitest";
import { analyseAnisotropy } from "../../core/anisotropy/analyse.ts";
import { anisotropyVerdict } from "../../core/anisotropy/verdict.ts";
import { FlatBank, third } from "../support/anisotropy-frames.ts";
import { poissonSource } from "../support/random.ts";

const annuli = [{ id: "ring", qMin: 0.03, qMax: 0.06 }];
/** A fall as that of most samples: Q^-2 above a flat part. */
const fall = (q: number) => 1 / (1 + (q / 0.02) ** 2);

describe("a beam centre that is wrong by half a pixel, on an isotropic frame", () => {
  it.each([
    ["2e5 counts", 2e5, false],
    ["1e7 counts", 1e7, false],
    ["1e6 counts, a third of the angles masked", 1e6, true],
  ] as const)("is named with its shift and not called anisotropy at %s", (_name, total, masked) => {
    const truth = new FlatBank({ x: 47.1, y: 48.6 });
    const used = new FlatBank({ x: 46.8, y: 49 });
    const draw = poissonSource(7);
    const mean = truth.frame(total, (_phi, q) => fall(q));
    const report = analyseAnisotropy(
      used.ground(
        mean.map((value) => draw(value)),
        masked ? third(used) : undefined,
      ),
      { annuli },
    );
    const { error, corrected } = report.centre!;
    expect(corrected).toBeDefined();
    // Three sigmas in each of six numbers: false alarm rate 2 %; seeded. The pixels' own size leaves some 0.005 px.
    expect(Math.abs(error.dx - 0.3)).toBeLessThan(3 * error.dxSigma + 0.005);
    expect(Math.abs(error.dy + 0.4)).toBeLessThan(3 * error.dySigma + 0.005);
    expect(anisotropyVerdict(report).verdict).toBe("off-centre");
    expect(corrected!.annuli[0]!.measures!.pIsotropic).toBeGreaterThan(1e-3);
  });
});

describe("a beam centre that is wrong by half a pixel, on an anisotropic frame", () => {
  it("leaves the anisotropy proved, and is named beside it", () => {
    const truth = new FlatBank({ x: 47.1, y: 48.6 });
    const used = new FlatBank({ x: 46.8, y: 49 });
    const draw = poissonSource(9);
    const mean = truth.frame(1e6, (phi, q) => fall(q) * (1 + 0.5 * Math.cos(2 * (phi - 1))));
    const report = analyseAnisotropy(used.ground(mean.map((value) => draw(value))), { annuli });
    const { error, corrected } = report.centre!;
    expect(Math.abs(error.dx - 0.3)).toBeLessThan(3 * error.dxSigma + 0.005);
    expect(Math.abs(error.dy + 0.4)).toBeLessThan(3 * error.dySigma + 0.005);
    const { verdict, sentence } = anisotropyVerdict(report);
    expect(verdict).toBe("anisotropic");
    expect(sentence).toContain("The beam centre is off by");
    const { axis, axisSigma, alignment, alignmentSigma } = corrected!.annuli[0]!.measures!;
    expect(Math.abs(axis - 1)).toBeLessThan(3 * axisSigma);
    expect(Math.abs(alignment - 0.25)).toBeLessThan(3 * alignmentSigma);
  });

  it("is not found where the centre is right: the shift is 0 within its sigma, and the pulls have unit width", () => {
    const bank = new FlatBank({ x: 47.1, y: 48.6 });
    const draw = poissonSource(10);
    const mean = bank.frame(3e5, (_phi, q) => fall(q));
    const pulls: number[] = [];
    for (let k = 0; k < 20; k++) {
      const report = analyseAnisotropy(bank.ground(mean.map((value) => draw(value))), { annuli: [] });
      const { error, corrected } = report.centre!;
      expect(corrected).toBeUndefined();
      pulls.push(error.dx / error.dxSigma, error.dy / error.dySigma);
    }
    // 40 pulls: the width scatters by 0.11; three of these. 20 shift tests at 1e-3: false alarm rate 2 %. Seeded.
    const width = Math.sqrt(pulls.reduce((sum, pull) => sum + pull * pull, 0) / pulls.length);
    expect(Math.abs(width - 1)).toBeLessThan(0.34);
  });
});

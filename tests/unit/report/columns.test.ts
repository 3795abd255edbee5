import { describe, expect, it } from "vitest";
import { planHash } from "../../../core/plan/canonical-json.ts";
import { averageText } from "../../../core/report/columns.ts";
import { aCurve, aProfile, aReduction } from "../../support/reduction-builder.ts";

const rowsOf = (text: string) =>
  text
    .split("\n")
    .filter((line) => line !== "" && !line.startsWith("#"))
    .map((line) => line.split(" ").map(Number));

describe("averages as columns", () => {
  it("give a curve back bit for bit under a header", () => {
    const reduction = aReduction();
    const curve = aCurve();
    const text = averageText(curve, reduction);
    const rows = rowsOf(text);
    expect(rows.map((row) => row[0])).toEqual([...curve.q]);
    expect(rows.map((row) => row[1])).toEqual([...curve.intensity]);
    expect(rows.map((row) => row[2])).toEqual([...curve.sigma]);
    expect(rows.map((row) => row[3])).toEqual([...curve.qSigma!]);
    expect(text).toContain("# title: Nanorods <at rest>");
    expect(text).toContain(`# plan: sha256 ${planHash(reduction.ledger.plan)}`);
    expect(text).toContain("# not applied: detector sensitivity (flood): no flood run is given");
    expect(text).toContain("# warning: wavelength spread is a guess");
    expect(text).toContain("# Q I dI dQ pixels counts\n");
    expect(text).not.toContain("\r");
  });

  it("write Q, I and dI alone where the resolution isn't known, so that nobody reads pixels as dQ", () => {
    const { qSigma: _, ...unresolved } = aCurve();
    const text = averageText(unresolved, aReduction());
    for (const row of rowsOf(text)) expect(row).toHaveLength(3);
    expect(text).toContain("# dQ: not known");
    expect(text).toContain("# Q I dI\n");
  });

  it("keep the pixels of an annulus, which has no resolution to be mistaken for", () => {
    for (const row of rowsOf(averageText(aProfile(), aReduction()))) expect(row).toHaveLength(5);
  });

  it("keep a title with line ends inside the header", () => {
    const text = averageText(aCurve(), aReduction({ title: "one\n2 3 4\r\n5 6 7" }));
    expect(text).toContain("# title: one 2 3 4 5 6 7\n");
    expect(rowsOf(text)).toHaveLength(aCurve().q.length);
  });
});

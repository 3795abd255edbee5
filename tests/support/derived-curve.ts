import type { DerivedCurve } from "../../core/report/derived-curve.ts";

/** A curve merged from two others: a power law with a name that needs escaping. */
export function aDerivedCurve(): DerivedCurve {
  const q = Float64Array.from({ length: 12 }, (_, i) => 0.01 * (i + 1) + 1e-17 * i);
  return {
    q,
    intensity: q.map((value) => 3e-7 / (value * value * value * value)),
    sigma: q.map((value) => 1e-8 / (value * value)),
    qSigma: q.map((value) => value / 30),
    title: 'near & far <merged> "twice"',
    unit: "1/cm",
    inputs: ["near.xml", "far.xml"].map((file) => ({
      role: "curve",
      file,
      sha256: "0".repeat(64),
      format: "cansas-xml",
      dataset: "SASentry/SASdata",
    })),
    steps: [
      {
        step: "merge",
        status: "applied",
        parameters: { factors: [1, 1.25] },
        sources: { factors: "fitted" },
        warnings: [],
      },
    ],
    warnings: ["the curves differ by 3 sigma where they overlap"],
  };
}

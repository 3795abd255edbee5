import { readdirSync, readFileSync } from "node:fs";
import { resolve } from "node:path";
import { describe, expect, it } from "vitest";
import { atan, atan2, cos, exp, expm1, ln, log1p, sin, tan } from "../../../core/model/steady-math.ts";

const CORE = resolve(import.meta.dirname, "../../../core");
/** Powers of 2 are exact. The simulator's numbers are drawn at random anyway; figures round to hundredths of a point. */
const EXEMPT = /^(simulate|report)\//;
const UNSTEADY =
  /Math\.(sin|cos|tan|asin|acos|atan|atan2|exp|expm1|log|log1p|log2|log10|pow|cbrt|sinh|cosh|tanh)\b|[\w)\]] \*\* /;

describe("steady functions", () => {
  it.each([
    ["exp", exp, Math.exp],
    ["expm1", expm1, Math.expm1],
    ["ln", ln, Math.log],
    ["log1p", log1p, Math.log1p],
    ["sin", sin, Math.sin],
    ["cos", cos, Math.cos],
    ["tan", tan, Math.tan],
    ["atan", atan, Math.atan],
  ])("%s agrees with the engine's own to a few parts in 1e16", (_name, steady, own) => {
    for (let k = 1; k < 2000; k++) {
      const x = k * 0.00731;
      expect(Math.abs(steady(x) - own(x))).toBeLessThanOrEqual(1e-15 * Math.max(1, Math.abs(own(x))) * 4);
    }
  });

  it("atan2 knows its quadrants", () => {
    expect(atan2(1, -1)).toBeCloseTo((3 * Math.PI) / 4, 15);
    expect(atan2(-1, -1)).toBeCloseTo((-3 * Math.PI) / 4, 15);
  });

  it("are the only ones that core computes with", () => {
    const offenders = readdirDeep(CORE).flatMap((file) =>
      readFileSync(resolve(CORE, file), "utf8")
        .split("\n")
        .flatMap((line, i) => {
          const code = line.trim();
          const isComment = code.startsWith("*") || code.startsWith("//") || code.startsWith("/*");
          return !isComment && UNSTEADY.test(code.replaceAll(/\b2 \*\* \w+/g, "")) ? [`${file}:${i + 1}: ${code}`] : [];
        }),
    );
    expect(offenders).toEqual([]);
  });
});

function readdirDeep(folder: string): string[] {
  return readdirSync(folder, { recursive: true, encoding: "utf8" }).filter(
    (file) => file.endsWith(".ts") && !EXEMPT.test(file),
  );
}

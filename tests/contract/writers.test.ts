import { describe, expect, it } from "vitest";
import type { OutputKind } from "../../core/plan/plan.ts";
import { buildOutputs } from "../../core/report/outputs.ts";
import { aCurve, aReduction } from "../support/reduction-builder.ts";

const never = new AbortController().signal;

async function pathsFor(kinds: readonly OutputKind[]): Promise<string[]> {
  const built = await buildOutputs(aReduction(), kinds, {}, never);
  if (!built.ok) throw new Error(built.fault.message);
  return built.value.map((file) => file.path);
}

describe("what a reduction becomes", () => {
  it("is the summary and the ledger, whatever else is asked for", async () => {
    expect(await pathsFor([])).toEqual(["summary.json", "ledger.json"]);
  });

  it("is one file a curve and kind, by id", async () => {
    const paths = await pathsFor(["csv", "columns", "maps"]);
    expect(paths).toEqual(
      expect.arrayContaining(["curves/radial.csv", "curves/flow.csv", "curves/ring.csv", "curves/radial.txt"]),
    );
    expect(paths.filter((path) => path.startsWith("maps/"))).toHaveLength(5);
    expect(new Set(paths).size).toBe(paths.length);
  });

  it("keeps the ledger as it is", async () => {
    const reduction = aReduction();
    const built = await buildOutputs(reduction, [], {}, never);
    const ledger = built.ok && built.value.find((file) => file.path === "ledger.json");
    expect(ledger).toBeTruthy();
    const read = JSON.parse(new TextDecoder().decode((ledger as { bytes: Uint8Array }).bytes));
    expect(read).toMatchObject(JSON.parse(JSON.stringify(reduction.ledger)));
  });

  it.each(["../outside", "a/b", "", "dot.", ".hidden", "a\\b", "con:fig"])("refuses %j as an id", async (id) => {
    const built = await buildOutputs(aReduction({ curves: [aCurve({ id })] }), ["csv"], {}, never);
    expect(built).toMatchObject({ ok: false, fault: { code: "out-of-range", field: "averages" } });
  });

  it("refuses two ids that share a file on a disk that ignores case", async () => {
    const curves = [aCurve({ id: "Cut" }), aCurve({ id: "cut" })];
    expect((await buildOutputs(aReduction({ curves }), ["csv"], {}, never)).ok).toBe(false);
  });

  it("stops when it is cancelled", async () => {
    await expect(buildOutputs(aReduction(), ["csv"], {}, AbortSignal.abort())).rejects.toThrow();
  });
});

import { describe, expect, it } from "vitest";
import { seriesAxis, seriesFields } from "../../../core/anisotropy/series.ts";
import type { RunMetadata } from "../../../core/model/metadata.ts";

const sample = (file: string, metadata: RunMetadata = {}) => ({ file, metadata });
const text = (value: string) => ({ value, from: "test" });
const number = (value: number) => ({ value, from: "test" });

describe("values of a series", () => {
  it("are the order, what was typed, or a number of the file name or title", () => {
    const samples = [
      sample("a/shear-030.h5", { title: text("at 0.5 1/s") }),
      sample("rest.h5", { title: text("at rest") }),
    ];
    const valuesOf = (source: Parameters<typeof seriesAxis>[1]) => {
      const axis = seriesAxis(samples, source);
      if (!axis.ok) throw new Error(axis.fault.message);
      return axis.value.values;
    };
    expect(valuesOf({ kind: "order" })).toEqual([1, 2]);
    expect(valuesOf({ kind: "typed", values: [30, 0], name: undefined, otherwise: undefined })).toEqual([30, 0]);
    expect(valuesOf({ kind: "file-name" })).toEqual([30, undefined]);
    expect(valuesOf({ kind: "title" })).toEqual([0.5, undefined]);
  });

  it("come from the metadata in the units of the plan, and from start times", () => {
    const samples = [
      sample("a", { wavelength: number(6), startTime: text("2026-01-01T10:00:00Z"), thickness: number(0.001) }),
      sample("b", { wavelength: number(8), startTime: text("2026-01-01T10:01:30Z"), thickness: number(0.002) }),
    ];
    expect(seriesAxis(samples, { kind: "metadata", key: "thickness_mm" })).toEqual({
      ok: true,
      value: { label: "Sample thickness", unit: "mm", values: [1, 2] },
    });
    const times = seriesAxis(samples, { kind: "start-time" });
    expect(times.ok && times.value.values).toEqual([0, 90]);
  });

  it("are typed where the runs do not give them, and before what they give", () => {
    const samples = [sample("shear-030.h5"), sample("rest.h5"), sample("shear-300.h5")];
    const name = { label: "Shear rate", unit: "1/s" };
    const axis = seriesAxis(samples, {
      kind: "typed",
      values: [undefined, 0, 310],
      name,
      otherwise: { kind: "file-name" },
    });
    expect(axis).toEqual({ ok: true, value: { ...name, values: [30, 0, 310] } });
    const unnamed = seriesAxis([sample("a"), sample("b")], {
      kind: "typed",
      values: [undefined, 4],
      name: undefined,
      otherwise: { kind: "metadata", key: "thickness_mm" },
    });
    // No run has a thickness: the one typed value stands alone.
    expect(unnamed.ok && unnamed.value.values).toEqual([undefined, 4]);
  });

  it("can follow the numbers that at least one of the runs has", () => {
    const samples = [sample("a", { wavelength: number(6) }), sample("b", { thickness: number(0.001) })];
    expect(seriesFields(samples).map(({ fileKey }) => fileKey)).toEqual(["wavelength_A", "thickness_mm"]);
  });

  it("are a fault where there are none, too few, or no such number", () => {
    const samples = [sample("a"), sample("b")];
    const fault = (source: Parameters<typeof seriesAxis>[1]) => {
      const axis = seriesAxis(samples, source);
      return axis.ok ? "" : axis.fault.message;
    };
    expect(fault({ kind: "typed", values: [1], name: undefined, otherwise: undefined })).toContain(
      "1 values were given",
    );
    expect(fault({ kind: "metadata", key: "temperature" })).toContain("countTime_s");
    expect(fault({ kind: "metadata", key: "thickness_mm" })).toContain("type the values");
    expect(fault({ kind: "start-time" })).toContain("type the values");
  });
});

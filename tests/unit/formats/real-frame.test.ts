import { describe, expect, it } from "vitest";
import { describeRun } from "../../../core/formats/describe.ts";
import { diskSource, neverAborted, openSource, unwrap } from "../../support/open-file.ts";
import { hasShared, sharedFile } from "../../support/shared-data.ts";

// A published neutron frame of 2009 in an old NeXus layout. Expected numbers were worked out from it with h5py and numpy.
const FRAME = "data/sans2009n012333.hdf";

describe.skipIf(!hasShared(FRAME))("a real frame of 128 x 128 counts", () => {
  const open = async () => unwrap(await openSource(diskSource(sharedFile(FRAME))));

  it("gives its counts exactly", async () => {
    const run = await open();
    const bank = run.banks[0]!;
    const frame = unwrap(await bank.readFrame(0, neverAborted));
    expect([bank.width, bank.height, bank.frames, bank.counting]).toEqual([128, 128, 1, true]);
    const at = (x: number, y: number) => frame.counts[y * 128 + x];
    expect([at(53, 57), at(52, 60), at(60, 53), at(20, 100), at(0, 0)]).toEqual([105, 395, 260, 19, 0]);
    let [momentX, momentY] = [0, 0];
    for (let p = 0; p < frame.counts.length; p++) {
      momentX += (p % 128) * frame.counts[p]!;
      momentY += Math.floor(p / 128) * frame.counts[p]!;
    }
    expect([momentX, momentY]).toEqual([23_542_877, 23_867_499]);
    run.close();
  });

  it("is described with where each value came from and what is missing", async () => {
    const run = await open();
    const seen = unwrap(await describeRun(run, neverAborted));
    run.close();
    expect(seen.format).toBe("nexus");
    expect(seen.statistics).toMatchObject({
      total: 375_950,
      max: 583,
      maxAt: { frame: 0, x: 68, y: 63 },
      min: 0,
      zeros: 58,
      invalid: 0,
    });
    expect(seen.metadata["wavelength_A"]).toMatchObject({
      value: 5.99996,
      from: "/entry1/SANS/Dornier-VS/lambda",
      asWritten: "0.599996 nm",
    });
    expect(seen.metadata["wavelength_A"]).not.toHaveProperty("guessed");
    expect(seen.metadata["collimation_m"]).toMatchObject({ value: 8, from: "/entry1/SANS/collimator/length" });
    expect(seen.metadata["countTime_s"]).toMatchObject({ value: 161.041, from: "/entry1/SANS/detector/counting_time" });
    expect(seen.metadata["monitorCounts"]).toMatchObject({
      value: 700_000,
      from: "/entry1/SANS/monitor_8/counts",
      guessed: true,
    });
    expect(seen.metadata["beamCentre_px"]).toMatchObject({ value: [61.48, 63.16], guessed: true });
    expect(seen.missing).toEqual(expect.arrayContaining(["distance_m", "pixelSize_mm", "wavelengthSpread"]));
    expect(seen.metadata).not.toHaveProperty("distance_m");
    expect(seen.metadata).not.toHaveProperty("pixelSize_mm");
  });

  it("shows what it found and did not take", async () => {
    const run = await open();
    run.close();
    const values = (key: string) =>
      (run.alternatives[key] ?? []).map(({ value, from }) => [value, from.split("/").slice(-2).join("/")]);
    expect(values("monitorCounts")).toEqual(
      expect.arrayContaining([
        [700_025, "integrated_beam/counts"],
        [372_307, "monitor1/counts"],
        [24_930_390, "monitor_6/counts"],
        [127_130, "detector/monitor_counts"],
      ]),
    );
    expect(values("distance")).toEqual([[2.000_419, "detector/x_position"]]);
    // The pixel axes run from -64 to 63 without a unit: their spacing of 1 is no pixel size.
    expect(values("pixelSize")).toEqual([
      [1, "detector/detector_x"],
      [1, "detector/detector_y"],
    ]);
    expect(run.notes.find((note) => note.startsWith("frame:"))).toContain("/entry1/SANS/detector/counts");
  });
});

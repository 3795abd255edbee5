import { expect, it } from "vitest";
import { knownFrame } from "../../support/known-frame.ts";
import { diskSource, fixture, messageOf, neverAborted, openSource, unwrap } from "../../support/open-file.ts";

it("scaled values are (stored + offset) x factor, and no counts any more", async () => {
  const run = unwrap(await openSource(diskSource(fixture("scaled.h5"))));
  const bank = run.banks[0]!;
  const frame = unwrap(await bank.readFrame(0, neverAborted));
  // The flag -1 of the first pixel is one before scaling.
  expect(frame.mask[0]).not.toBe(0);
  const expected = knownFrame(undefined, (count) => (count - 3) * 0.5);
  expect(Array.from(frame.counts).slice(1)).toEqual(expected.slice(1));
  expect(bank.counting).toBe(false);
  expect(run.notes).toContain(
    "/entry/data/counts: values are (stored - 3) x 0.5, by counts_scaling_factor and counts_offset",
  );
  run.close();
});

it("a factor that is no single number is refused", async () => {
  expect(messageOf(await openSource(diskSource(fixture("scaled-by-list.h5"))))).toContain(
    "/entry/data/counts_scaling_factor is not one finite number",
  );
});

it("the conditions of the sample are kelvin and tesla, a log by its mean", async () => {
  const run = unwrap(await openSource(diskSource(fixture("conditions.h5"))));
  expect(run.metadata.temperature).toMatchObject({ value: 298.15, asWritten: "25 degC" });
  expect(run.metadata.magneticField).toMatchObject({ value: -1, from: "/entry/sample/magnetic_field/value" });
  run.close();
});

it("a file that is open for writing is not complete yet", async () => {
  const run = await openSource(diskSource(fixture("being-written.h5")));
  expect(run).toMatchObject({ ok: false, fault: { code: "incomplete" } });
  expect(messageOf(run)).toBe("being-written.h5 is marked as open for writing: it is not complete yet");
});

import { expect, it } from "vitest";
import { hdf5Opener } from "../../../../renderer/worker/open-hdf5.ts";
import { type FileBeingRead, ReadingWatch } from "../../../../renderer/worker/reading-watch.ts";
import { diskSource, fixture, messageOf, unwrap } from "../../../support/open-file.ts";

it("tells once when HDF5 begins, whatever is called, and once when it rests", async () => {
  const told: (FileBeingRead | undefined)[] = [];
  const watch = new ReadingWatch((file) => told.push(file));
  const read = { key: "kinds.h5 1", name: "kinds.h5" };
  const open = watch.over(
    hdf5Opener(async () => undefined),
    read,
  );
  const file = unwrap(await open(diskSource(fixture("kinds.h5"))));
  await new Promise((done) => setTimeout(done, 5));
  told.length = 0;
  expect(unwrap(file.node("/stores")).kind).toBe("group");
  // Before the call, or a call without end would never be heard of.
  expect(told).toEqual([read]);
  expect(unwrap(file.read("/stores/gzip")).length).toBeGreaterThan(0);
  file.close();
  expect(told.filter((one) => one === undefined)).toEqual([]);
  await new Promise((done) => setTimeout(done, 5));
  expect(told.at(-1)).toBeUndefined();
});

it("refuses a file that ended an earlier worker, and no other content of it", () => {
  const watch = new ReadingWatch(() => {});
  watch.avoid("bad.h5 1", "reading bad.h5 took longer than 10 s");
  expect(messageOf(watch.check({ key: "bad.h5 1", name: "bad.h5" }))).toContain("took longer");
  expect(watch.check({ key: "bad.h5 2", name: "bad.h5" }).ok).toBe(true);
});

import { expect, it, vi } from "vitest";
import { bytesSource } from "../../../../core/formats/byte-source.ts";
import type { Hdf5File } from "../../../../core/formats/hdf5/hdf5-file.ts";
import { failure, success } from "../../../../core/model/result.ts";
import { FileShelf } from "../../../../renderer/worker/file-shelf.ts";
import { hdf5Opener } from "../../../../renderer/worker/open-hdf5.ts";
import { type FileBeingRead, ReadingWatch } from "../../../../renderer/worker/reading-watch.ts";
import { WindowRunSource } from "../../../../renderer/worker/window-run-source.ts";
import { diskSource, fixture, fixtureBytes, messageOf, neverAborted, unwrap } from "../../../support/open-file.ts";

it("tells once when HDF5 begins, whatever is called, and once when it rests", async () => {
  const told: (FileBeingRead | undefined)[] = [];
  const watch = new ReadingWatch((file) => told.push(file));
  const read = { key: "kinds.h5 1", name: "kinds.h5" };
  const open = watch.over(
    hdf5Opener(async () => undefined),
    read,
  );
  const file = unwrap(await open(diskSource(fixture("kinds.h5"))));
  await vi.waitFor(() => expect(told).toEqual([read, undefined]));
  told.length = 0;
  expect(unwrap(file.node("/stores")).kind).toBe("group");
  // Before the call, or a call without end would never be heard of.
  expect(told).toEqual([read]);
  expect(unwrap(file.read("/stores/gzip")).length).toBeGreaterThan(0);
  file.close();
  expect(told.filter((one) => one === undefined)).toEqual([]);
  await vi.waitFor(() => expect(told.at(-1)).toBeUndefined());
});

it("tells of a call that delivers much, and how long it may take", async () => {
  const told: (FileBeingRead | undefined)[] = [];
  const watch = new ReadingWatch((file) => told.push(file));
  const read = { key: "big.h5 1", name: "big.h5" };
  const file: Hdf5File = {
    name: "big.h5",
    notes: [],
    node: () => failure("missing", "no nodes"),
    prepare: async () => success(undefined),
    read: () => success(new Float64Array()),
    readText: () => failure("missing", "no texts"),
    close() {},
  };
  const open = unwrap(await watch.over(async () => success(file), read)(bytesSource("big.h5", new Uint8Array())));
  told.length = 0;
  open.node("/");
  open.read("/frame", [[0, 2 ** 26]]);
  // 64 Mi values of 8 bytes at 64 MiB a second.
  expect(told).toEqual([{ ...read, more_s: 8 }]);
});

it("refuses a file that ended an earlier worker, and no other content of it", () => {
  const watch = new ReadingWatch(() => {});
  watch.avoid("bad.h5 1", "reading bad.h5 took longer than 5 s");
  expect(messageOf(watch.check({ key: "bad.h5 1", name: "bad.h5" }))).toContain("took longer");
  expect(watch.check({ key: "bad.h5 2", name: "bad.h5" }).ok).toBe(true);
});

it("has said that HDF5 rests when a sum over what was read can begin", async () => {
  const told: (FileBeingRead | undefined)[] = [];
  const shelf = new FileShelf();
  shelf.put("a.h5", "1", "a.h5", new Blob([fixtureBytes("kinds.h5")]));
  const opener = hdf5Opener(async () => undefined);
  const source = new WindowRunSource(shelf, opener, new ReadingWatch((file) => told.push(file)));
  const reference = { file: "a.h5", dataset: "/stores/gzip" };
  const { run } = unwrap(await source.openRun(reference, "sample", neverAborted));
  expect(told.length).toBeGreaterThan(1);
  expect(told.at(-1)).toBeUndefined();
  told.length = 0;
  unwrap(await run.banks[0]!.readFrame(0, neverAborted));
  expect(told.length).toBeGreaterThan(1);
  expect(told.at(-1)).toBeUndefined();
  run.close();
  expect(told.at(-1)).toBeUndefined();
});

it("tells of damage that stopped the library, whether it is met on opening or later", async () => {
  const told: (FileBeingRead | undefined)[] = [];
  let stopped = false;
  const watch = new ReadingWatch(
    (file) => told.push(file),
    () => stopped,
  );
  const read = { key: "trap.h5 1", name: "trap.h5" };
  const open = watch.over(
    hdf5Opener(async () => undefined),
    read,
  );
  const file = unwrap(await open(diskSource(fixture("kinds.h5"))));
  expect(told.filter((one) => one?.hasStopped)).toEqual([]);
  stopped = true;
  file.node("/stores");
  expect(told.at(-1)).toEqual({ ...read, hasStopped: true });
  told.length = 0;
  await open(diskSource(fixture("kinds.h5")));
  expect(told.at(-1)).toEqual({ ...read, hasStopped: true });
});

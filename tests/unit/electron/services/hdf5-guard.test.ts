import { readdirSync } from "node:fs";
import { afterAll, beforeAll, expect, it, vi } from "vitest";
import { bytesSource } from "../../../../core/formats/byte-source.ts";
import { COMPUTING_LIMIT_S, openHdf5Guarded } from "../../../../electron/services/hdf5-guard.ts";
import { openHdf5 } from "../../../../electron/services/open-hdf5.ts";
import { diskSource, fixture, fixtureBytes, messageOf, unwrap } from "../../../support/open-file.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

/** A heap of texts whose first object is free and of size 0: the library walks it without end. */
function endlessHeap(): Uint8Array<ArrayBuffer> {
  const bytes = fixtureBytes("nexus-variants.h5");
  const heap = Buffer.from(bytes.buffer).indexOf("GCOL");
  bytes.fill(0, heap + 16, heap + 32);
  return bytes;
}

// Copies of what has no path go to the folder for temporary files: here one that nobody else writes to.
const copiesIn = temporaryFolder();
beforeAll(() => vi.stubEnv("TMPDIR", copiesIn));
afterAll(() => vi.unstubAllEnvs());

it("gives the same as without the thread", async () => {
  const source = diskSource(fixture("nexus-variants.h5"));
  const [here, there] = [unwrap(await openHdf5(source)), unwrap(await openHdf5Guarded(source))];
  for (const path of ["/", "/entry1", "/absent"]) expect(there.node(path)).toEqual(here.node(path));
  const kinds = diskSource(fixture("kinds.h5"));
  const [plain, guarded] = [unwrap(await openHdf5(kinds)), unwrap(await openHdf5Guarded(kinds))];
  for (const path of ["/stores/gzip", "/stores/bitshuffle", "/stores/absent"]) {
    expect(await guarded.prepare(path)).toEqual(await plain.prepare(path));
    expect(guarded.read(path)).toEqual(plain.read(path));
  }
  for (const file of [here, there, plain, guarded]) file.close();
  expect(messageOf(guarded.read("/stores/gzip"))).toContain("closed");
});

it("ends a library that walks in circles, says so, and opens the next file", { timeout: 60_000 }, async () => {
  const innocent = unwrap(await openHdf5Guarded(diskSource(fixture("kinds.h5"))));
  const damaged = unwrap(await openHdf5Guarded(bytesSource("circles.h5", endlessHeap())));
  const began = process.cpuUsage();
  let message = "";
  const look = (path: string): void => {
    const node = damaged.node(path);
    if (!node.ok) message ||= node.fault.message;
    else if (node.value.kind === "group")
      for (const name of node.value.children) if (message === "") look(`${path === "/" ? "" : path}/${name}`);
  };
  look("/");
  expect(message).toBe(`reading circles.h5 took longer than ${COMPUTING_LIMIT_S} s; the file may be damaged`);
  expect(process.cpuUsage(began).user / 1e6).toBeLessThan(COMPUTING_LIMIT_S + 2);
  expect(messageOf(damaged.node("/"))).toContain(message);
  expect(messageOf(innocent.node("/"))).toContain("open kinds.h5 again");
  damaged.close();
  innocent.close();
  expect(readdirSync(copiesIn)).toEqual([]);
  const next = unwrap(await openHdf5Guarded(diskSource(fixture("kinds.h5"))));
  expect(next.node("/stores").ok).toBe(true);
  next.close();
});

it("leaves no copy of a file that does not open", async () => {
  expect((await openHdf5Guarded(bytesSource("cut.h5", fixtureBytes("kinds.h5").slice(0, 20_000)))).ok).toBe(false);
  expect(readdirSync(copiesIn)).toEqual([]);
});

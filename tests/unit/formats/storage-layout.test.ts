import fc from "fast-check";
import { expect, it } from "vitest";
import { bytesSource } from "../../../core/formats/byte-source.ts";
import { isUnwritten } from "../../../core/formats/hdf5/storage-layout.ts";
import { openHdf5 } from "../../../electron/services/open-hdf5.ts";
import { diskSource, fixture, fixtureBytes, messageOf, openSource, unwrap } from "../../support/open-file.ts";

/** All datasets of a file, by name. */
async function datasetsOf(name: string) {
  const file = unwrap(await openHdf5(diskSource(fixture(name))));
  const root = unwrap(file.node("/"));
  if (root.kind !== "group") throw new Error("no root");
  const nodes = root.children.map((child) => unwrap(file.node(`/${child}`)));
  file.close();
  return nodes.flatMap((node) => (node.kind === "dataset" ? [node] : []));
}

it.each(["unwritten-old.h5", "unwritten-new.h5"])(
  "tells what of %s has no values yet, in each layout",
  async (name) => {
    const source = diskSource(fixture(name));
    const datasets = await datasetsOf(name);
    expect(datasets).toHaveLength(17);
    // Values in another file are not looked for.
    for (const dataset of datasets)
      expect(await isUnwritten(source, dataset), dataset.path).toBe(dataset.path.endsWith("_empty"));
  },
);

it("says nothing wrong of a whole file, and a damaged header does no harm", async () => {
  const bytes = fixtureBytes("unwritten-new.h5");
  const datasets = await datasetsOf("unwritten-new.h5");
  const changes = fc.array(fc.tuple(fc.nat(bytes.length - 1), fc.nat(255)), { minLength: 1, maxLength: 400 });
  await fc.assert(
    fc.asyncProperty(changes, fc.nat(datasets.length - 1), async (changed, which) => {
      const damaged = bytes.slice();
      for (const [at, byte] of changed) damaged[at] = byte;
      expect(typeof (await isUnwritten(bytesSource("damaged", damaged), datasets[which]!))).toBe("boolean");
    }),
    { seed: 3, numRuns: 200 },
  );
});

it("makes a frame that was only announced incomplete, not zeros", async () => {
  const open = (dataset: string) => openSource(diskSource(fixture("unwritten-old.h5")), { dataset });
  const announced = await open("/chunked_empty");
  expect(announced).toMatchObject({ ok: false, fault: { code: "incomplete" } });
  expect(messageOf(announced)).toContain("/chunked_empty is empty so far: nothing was written to it");
  const written = unwrap(await open("/chunked_written"));
  written.close();
});

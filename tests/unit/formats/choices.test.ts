import { expect, it } from "vitest";
import type { ReadChoice } from "../../../core/formats/reader.ts";
import { diskSource, fixture, messageOf, openSource, unwrap } from "../../support/open-file.ts";

const refusal = async (file: string, choice: ReadChoice): Promise<string> =>
  messageOf(await openSource(diskSource(fixture(file)), choice));

it("an entry that is not there is refused with those that are, also beside a dataset", async () => {
  expect(await refusal("nexus-standard.h5", { entry: "entry2" })).toContain(
    'nexus-standard.h5 has no entry "entry2"; it has entry',
  );
  expect(await refusal("nexus-standard.h5", { entry: "entry2", dataset: "/entry/data/data" })).toContain(
    'has no entry "entry2"',
  );
  expect(await refusal("plain.h5", { entry: "entry" })).toContain('plain.h5 has no entry "entry"; it has none');
});

it("an entry without a frame is refused; no other entry's frame is taken for it", async () => {
  const message = await refusal("events.h5", { entry: "empty" });
  expect(message).toContain("entry /empty of events.h5 holds no frame");
});

it("a file or an array that is not in an archive is refused with those that are", async () => {
  expect(await refusal("several.zip", { entry: "c.tif" })).toMatch(/several\.zip holds no file "c\.tif": "a\.tif"/);
  expect(await refusal("stored.npz", { entry: "absent" })).toMatch(/stored\.npz has no array "absent"; it has "/);
});

it.each([
  ["u2.npy", { entry: "entry" }, 'u2.npy is NPY array, which has no entry to choose: leave out "entry"'],
  ["strips.tif", { dataset: "/a" }, 'which has no dataset to choose: leave out "/a"'],
  ["u2.npy.gz", { dataset: "/a" }, "u2.npy is NPY"],
] as const)(
  "a choice that means nothing to the format of %s is refused, not passed over",
  async (file, choice, text) => {
    expect(await refusal(file, choice)).toContain(text);
  },
);

it("an array of an archive is chosen as an entry or as a dataset", async () => {
  for (const choice of [{ entry: "counts" }, { dataset: "counts" }]) {
    const run = unwrap(await openSource(diskSource(fixture("stored.npz")), choice));
    expect(run.banks[0]!.name).toBe("counts");
    run.close();
  }
});

import { expect, it } from "vitest";
import { knownFrame } from "../../support/known-frame.ts";
import { diskSource, fixture, neverAborted, openSource, unwrap } from "../../support/open-file.ts";

const [WIDTH, HEIGHT] = [37, 23];
const open = async (entry: string) => unwrap(await openSource(diskSource(fixture("axis-attribute.h5")), { entry }));

// NeXus manual, data rules: axis = 1 is the dimension that varies fastest; the text of NXdetector counts from the slowest.
it.each(["from_the_fastest", "from_the_slowest"])("axis fields numbered %s give one picture", async (entry) => {
  const run = await open(entry);
  expect(run.banks[0]).toMatchObject({ width: WIDTH, height: HEIGHT, transpose: false });
  const { pixelSize } = run.banks[0]!.metadata;
  // 5.5 mm along x, 4.25 mm along y: the steps of the two fields.
  expect(pixelSize?.value[0]).toBeCloseTo(0.0055, 12);
  expect(pixelSize?.value[1]).toBeCloseTo(0.00425, 12);
  expect(Array.from(unwrap(await run.banks[0]!.readFrame(0, neverAborted)).counts)).toEqual(knownFrame());
  run.close();
});

it("a picture stored with x slowest is turned, whatever the numbers say", async () => {
  const run = await open("x_slowest");
  expect(run.banks[0]).toMatchObject({ width: HEIGHT, height: WIDTH, transpose: true });
  // Along stored columns, which run along y, and along stored rows.
  const { pixelSize } = run.banks[0]!.metadata;
  expect(pixelSize?.value[0]).toBeCloseTo(0.00425, 12);
  expect(pixelSize?.value[1]).toBeCloseTo(0.0055, 12);
  const stored = unwrap(await run.banks[0]!.readFrame(0, neverAborted)).counts;
  const picture = knownFrame();
  for (const [x, y] of [
    [0, 0],
    [36, 0],
    [5, 22],
    [20, 11],
  ] as const)
    expect(stored[x * HEIGHT + y]).toBe(picture[y * WIDTH + x]);
  run.close();
});

it("where the lengths are equal the stored order is kept, and said", async () => {
  const run = await open("square");
  expect(run.banks[0]).toMatchObject({ width: HEIGHT, height: HEIGHT, transpose: false });
  expect(run.notes.join()).toContain("nothing in the file says which array axis is x");
  run.close();
});

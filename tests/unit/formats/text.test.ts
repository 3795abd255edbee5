import { describe, expect, it } from "vitest";
import { readNumberTable } from "../../../core/formats/text/number-table.ts";
import { MASK_REASONS } from "../../../core/model/mask.ts";
import { knownFrame } from "../../support/known-frame.ts";
import { fixtureBytes, messageOf, neverAborted, openBytes, unwrap } from "../../support/open-file.ts";

const bytes = (text: string) => new TextEncoder().encode(text);
const table = (text: string) => {
  const { rows, columns, values } = unwrap(readNumberTable(text, "t.txt"));
  return [rows, columns, ...values];
};

describe("a table of numbers", () => {
  it.each([
    ["tabs", "1\t2\n3\t4"],
    ["semicolons", "1;2\n3;4"],
    ["commas", "1,2\n3,4"],
    ["blanks", "  1   2 \n3 4"],
    ["commas and blanks", "1, 2\n3, 4"],
    ["commas at the end of each line", "1,2,\n3,4,"],
  ])("is separated by %s", (_, text) => {
    expect(table(text)).toEqual([2, 2, 1, 2, 3, 4]);
  });

  it.each([
    ["CR", "1 2\r3 4\r"],
    ["LF", "1 2\n3 4\n"],
    ["CR LF", "1 2\r\n3 4\r\n"],
    ["CR CR LF", "1 2\r\r\n3 4\r\r\n"],
    ["a byte order mark and blank lines", "\uFEFF1 2\n\n\n3 4"],
    ["comments between", "# one\n! two\n% three\n1 2\n; four\n3 4"],
    ["a line of names", "first second\n1 2\n3 4"],
  ])("has lines with %s", (_, text) => {
    expect(table(text)).toEqual([2, 2, 1, 2, 3, 4]);
  });

  it("knows decimal commas, Fortran exponents and words for no number", () => {
    expect(table("1,5;2,5\n3,5;4")).toEqual([2, 2, 1.5, 2.5, 3.5, 4]);
    expect(table("1,5 2,5\n3,5 4")).toEqual([2, 2, 1.5, 2.5, 3.5, 4]);
    expect(table("1.0D+03 2d-1\n.5 +4.E0")).toEqual([2, 2, 1000, 0.2, 0.5, 4]);
    expect(table("1,,nan(ind)\n-inf,NaN,2")).toEqual([2, 3, 1, Number.NaN, Number.NaN, Number.NaN, Number.NaN, 2]);
  });

  it("names the line that doesn't fit", () => {
    expect(messageOf(readNumberTable("# c\n1 2\n3 4\n5\n", "t.txt"))).toBe(
      "t.txt, line 4: 1 numbers; the rows before have 2",
    );
    expect(messageOf(readNumberTable("1 2\n3 four\n", "t.txt"))).toContain('line 2: "3 four" is not a row of numbers');
    expect(messageOf(readNumberTable("# only\n\n", "t.txt"))).toContain("no numbers found");
  });
});

describe("a text matrix as a frame", () => {
  it("written by numpy opens row by row", async () => {
    const run = unwrap(await openBytes("matrix.txt", fixtureBytes("matrix.txt")));
    expect(run.banks[0]).toMatchObject({ width: 37, height: 8, counting: true, rowOrder: "top-down" });
    expect(Array.from(unwrap(await run.banks[0]!.readFrame(0, neverAborted)).counts)).toEqual(knownFrame(8));
    expect(run.notes).toContain("comment in the file: counts of a frame");
    const csv = unwrap(await openBytes("exponents.csv", fixtureBytes("exponents.csv")));
    expect(csv.banks[0]!.counting).toBe(false);
    expect(Array.from(unwrap(await csv.banks[0]!.readFrame(0, neverAborted)).counts)).toEqual(
      knownFrame(8, (count) => count / 4),
    );
  });

  it("masks cells without a number", async () => {
    const run = unwrap(await openBytes("m.csv", bytes("1,,3,4,5\n6,7,nan,9,8\n")));
    const frame = unwrap(await run.banks[0]!.readFrame(0, neverAborted));
    expect(Array.from(frame.mask).map((bits) => bits === MASK_REASONS.notFinite)).toEqual([
      false,
      true,
      false,
      false,
      false,
      false,
      false,
      true,
      false,
      false,
    ]);
  });

  it("is told from curves, columns and words", async () => {
    const fault = async (text: string) => messageOf(await openBytes("t.txt", bytes(text)));
    expect(await fault("0.01 5\n0.02 4\n0.03 3\n")).toContain("a curve, not a frame");
    expect(await fault("1\n2\n3\n4\n")).toContain("it could be 2 x 2 pixels");
    expect(await fault("# nothing\n")).toContain("no numbers found");
    expect(await fault("just words\nand more\n")).toContain("not a row of numbers");
    expect(await fault("   \n  ")).toContain("no numbers found");
  });

  it("says what a name promised that the content does not keep", async () => {
    expect(messageOf(await openBytes("no.h5", bytes("hello\n")))).toBe(
      "no.h5 is named .h5 but holds text, not HDF5; as text: no numbers found",
    );
  });
});

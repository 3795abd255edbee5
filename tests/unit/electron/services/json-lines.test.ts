import { appendFileSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { JsonLines } from "../../../../electron/services/json-lines.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const root = temporaryFolder();
let count = 0;

async function open(text?: string) {
  const path = join(root, `lines-${count++}.jsonl`);
  if (text !== undefined) writeFileSync(path, text);
  const values: unknown[] = [];
  const opened = await JsonLines.open(path, (value) => values.push(value));
  return { path, values, opened };
}

function value<T>(result: { readonly ok: true; readonly value: T } | { readonly ok: false }): T {
  if (!result.ok) throw new Error(JSON.stringify(result));
  return result.value;
}

describe("JsonLines", () => {
  it("keeps what was appended, in order, across openings", async () => {
    const { path, opened } = await open();
    const lines = value(opened);
    for (let i = 0; i < 3; i++) await lines.append({ i, text: "Å\nline" });
    await lines.close();
    const values: unknown[] = [];
    await value(await JsonLines.open(path, (one) => values.push(one))).close();
    expect(values).toEqual([0, 1, 2].map((i) => ({ i, text: "Å\nline" })));
  });

  it.each([
    ["cut in the middle", '{"i":0}\n{"i":1'],
    ["whole but without its end", '{"i":0}\n{"i":1}'],
    ["of zeros, as a disk leaves it that lost power", `{"i":0}\n${"\0".repeat(20)}`],
    ["of zeros with an end", `{"i":0}\n${"\0".repeat(20)}\n`],
  ])("takes away a last line %s, and goes on after the one before", async (_, text) => {
    const { path, values, opened } = await open(text);
    const lines = value(opened);
    expect(values).toEqual([{ i: 0 }]);
    await lines.append({ i: 1 });
    await lines.close();
    expect(readFileSync(path, "utf8")).toBe('{"i":0}\n{"i":1}\n');
  });

  it("refuses a file with a broken line before the last, and leaves it as it is", async () => {
    const text = '{"i":0}\nbroken\n{"i":2}\n';
    const { path, opened } = await open(text);
    expect(opened).toMatchObject({
      ok: false,
      fault: { code: "unreadable", message: expect.stringContaining("line 2") },
    });
    expect(readFileSync(path, "utf8")).toBe(text);
  });

  it("reads lines that lie across the pieces in which it reads", async () => {
    const { path, opened } = await open();
    await value(opened).close();
    // 64 KiB pieces; characters of two bytes may be cut by them.
    for (let i = 0; i < 5; i++) appendFileSync(path, `${JSON.stringify({ i, text: "Å".repeat(20_001) })}\n`);
    const values: { i?: unknown; text?: unknown }[] = [];
    await value(await JsonLines.open(path, (one) => values.push(one))).close();
    expect(values.map(({ i }) => i)).toEqual([0, 1, 2, 3, 4]);
    expect(values.every(({ text }) => text === "Å".repeat(20_001))).toBe(true);
  });
});

import { describe, expect, it } from "vitest";
import { type SeenFile, SettlingFiles, stampText } from "../../../../electron/services/settling-files.ts";

const OPTIONS = { settleMs: 100, patienceMs: 1000 };
const file = (name: string, mtimeMs = 0, size = 10): SeenFile => ({ name, size, mtimeMs });
const names = (files: readonly SeenFile[]): string[] => files.map(({ name }) => name);

describe("SettlingFiles", () => {
  it("hands out a file that rested over two looks, once", () => {
    const settling = new SettlingFiles(OPTIONS);
    expect(settling.look([file("a")], 0)).toEqual([]);
    expect(settling.look([file("a")], 50)).toEqual([]);
    expect(settling.look([file("a")], 100)).toMatchObject([{ name: "a", isReplacement: false, isLastTry: false }]);
    settling.finish(file("a"));
    expect(settling.look([file("a")], 500)).toEqual([]);
  });

  it("waits while a file grows, and begins again when it does", () => {
    const settling = new SettlingFiles(OPTIONS);
    for (let step = 0; step < 5; step++) expect(settling.look([file("a", step, 10 * step)], 100 * step)).toEqual([]);
    expect(names(settling.look([file("a", 4, 40)], 500))).toEqual(["a"]);
  });

  it("hands out in the order of writing, and by number in the name where that is the same", () => {
    const settling = new SettlingFiles(OPTIONS);
    const seen = [file("frame-10", 7), file("frame-9", 7), file("late", 3), file("frame-11", 8)];
    settling.look(seen, 0);
    expect(names(settling.look(seen, 100))).toEqual(["late", "frame-9", "frame-10", "frame-11"]);
  });

  it("lets a file that was overlooked keep its place before those written after it", () => {
    const settling = new SettlingFiles(OPTIONS);
    settling.look([file("second", 2)], 0);
    const both = [file("second", 2), file("first", 1)];
    expect(settling.look(both, 100)).toEqual([]);
    expect(names(settling.look(both, 200))).toEqual(["first", "second"]);
  });

  it("is not held up by a file that goes on growing", () => {
    const settling = new SettlingFiles(OPTIONS);
    settling.look([file("whole", 1), file("grows", 2, 1)], 0);
    expect(names(settling.look([file("whole", 1), file("grows", 100, 2)], 100))).toEqual(["whole"]);
  });

  it("marks a file that has another content than the one that was processed", () => {
    const settling = new SettlingFiles(OPTIONS, [["a", stampText(file("a"))]]);
    expect(settling.look([file("a")], 0)).toEqual([]);
    settling.look([file("a", 5)], 100);
    expect(settling.look([file("a", 5)], 200)).toMatchObject([{ name: "a", isReplacement: true }]);
  });

  it("does not take a folder that was away for a new one", () => {
    const settling = new SettlingFiles(OPTIONS, [["a", stampText(file("a"))]]);
    settling.look([], 0);
    for (const now of [100, 200, 300]) expect(settling.look([file("a")], now)).toEqual([]);
  });

  it("tries an incomplete file more and more seldom, and says when it is the last time", () => {
    const settling = new SettlingFiles(OPTIONS);
    const tries: number[] = [];
    for (let now = 0; now <= 2000; now += 50) {
      const [ready] = settling.look([file("a")], now);
      if (ready === undefined) continue;
      tries.push(now);
      if (ready.isLastTry) break;
      settling.postpone("a", now);
    }
    // 100, then 200, 400 later; then the end of the patience.
    expect(tries).toEqual([100, 300, 700, 1000]);
  });

  it("tries an incomplete file at once when it has changed", () => {
    const settling = new SettlingFiles(OPTIONS);
    settling.look([file("a")], 0);
    settling.look([file("a")], 100);
    settling.postpone("a", 100);
    settling.look([file("a", 1)], 150);
    expect(names(settling.look([file("a", 1)], 250))).toEqual(["a"]);
  });

  it("forgets a file that vanished before it was complete", () => {
    const settling = new SettlingFiles(OPTIONS);
    settling.look([file("a")], 0);
    settling.look([], 100);
    expect(settling.isPending("a")).toBe(false);
    expect(settling.look([file("a")], 200)).toEqual([]);
  });
});

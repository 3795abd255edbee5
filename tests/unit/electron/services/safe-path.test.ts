import { describe, expect, it } from "vitest";
import { isInside, isPlainName, isPlainPath } from "../../../../electron/services/safe-path.ts";

describe("a path", () => {
  it.each([
    ["/data", "/data", true],
    ["/data", "/data/a/b", true],
    ["/data", "/data/..hidden", true],
    ["/data", "/data2/a", false],
    ["/data", "/", false],
    ["/data/a", "/data", false],
    ["/", "/anything", true],
  ])("in %s: %s is inside: %s", (folder, path, inside) => {
    expect(isInside(folder, path)).toBe(inside);
  });

  it.each(["radial.csv", "a b.txt", "Å-1.csv", "a..b", ".hidden"])("takes %s as a name", (name) => {
    expect(isPlainName(name)).toBe(true);
  });

  it.each([
    "",
    ".",
    "..",
    "a/b",
    "a\\b",
    "a\0b",
    "C:x",
    "nul",
    "COM1.txt",
    "a.",
    "a ",
    " a",
    "a\nb",
    "x".repeat(201),
    "what?",
  ])("refuses %j as a name", (name) => {
    expect(isPlainName(name)).toBe(false);
  });

  it.each(["../x", "/x", "a//b", "a/", "a/../b", "a/./b", "curves/con.csv"])("refuses %s as a path", (path) => {
    expect(isPlainPath(path)).toBe(false);
  });
});

import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import project from "../../../../package.json" with { type: "json" };

const ROOT = join(import.meta.dirname, "../../../..");
const text = readFileSync(join(ROOT, "electron-builder.yml"), "utf8");

/** The list below a key at the left margin: plain strings, one a line. */
function list(key: string): readonly string[] {
  const block = new RegExp(`^${key}:\\n((?:  - .*\\n)+)`, "m").exec(text)?.[1] ?? "";
  return [...block.matchAll(/^ {2}- "?([^"\n]+)"?$/gm)].map((match) => match[1] ?? "");
}

describe("the declared package", () => {
  it("holds the program's entry, the window, the samples and nothing of the sources", () => {
    const files = list("files");
    expect(files).toContain("dist/electron/**");
    expect(project.main.startsWith("dist/electron/")).toBe(true);
    expect(files).toContain("dist/renderer/**");
    expect(files.filter((file) => /^(core|electron|renderer|tests)\b/.test(file))).toEqual([]);
    for (const kept of ["samples", "LICENSE", "package.json"]) expect(existsSync(join(ROOT, kept)), kept).toBe(true);
  });

  it("unpacks what the build leaves outside and opens by its path", () => {
    const build = readFileSync(join(ROOT, "electron/launch/build.mjs"), "utf8");
    const outside = /external: \["electron", ([^\]]+)\]/.exec(build)?.[1]?.match(/[^", ]+/g) ?? [];
    expect(outside.length).toBeGreaterThan(0);
    for (const name of outside) expect(list("asarUnpack")).toContain(`node_modules/${name}/**`);
  });

  it.each([
    "runAsNode: false",
    "enableNodeOptionsEnvironmentVariable: false",
    "enableNodeCliInspectArguments: false",
    "onlyLoadAppFromAsar: true",
    "enableEmbeddedAsarIntegrityValidation: true",
    "enableCookieEncryption: true",
  ])("sets the fuse %s", (fuse) => {
    expect(text).toMatch(new RegExp(`^ {2}${fuse}$`, "m"));
  });
});

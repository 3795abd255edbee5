import { copyFileSync, mkdirSync, symlinkSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { bytesSource } from "../../../core/formats/byte-source.ts";
import { knownFrame } from "../../support/known-frame.ts";
import {
  diskSource,
  fixture,
  fixtureBytes,
  messageOf,
  neverAborted,
  openSource,
  unwrap,
} from "../../support/open-file.ts";
import { temporaryFolder } from "../../support/temporary-folder.ts";

const inLinks = (name: string) => openSource(diskSource(fixture(`links/${name}.h5`)));

describe("links out of a file", () => {
  it.each(["external", "external-below", "virtual"])("%s: are followed beside it", async (name) => {
    const run = unwrap(await inLinks(name));
    const frame = unwrap(await run.banks[0]!.readFrame(0, neverAborted));
    expect(Array.from(frame.counts)).toEqual(knownFrame());
    run.close();
  });

  it("are told of", async () => {
    const run = unwrap(await inLinks("external"));
    expect(run.notes).toContain('"pixels.h5" beside it was read too: links lead there');
    run.close();
  });

  it.each([
    ["external-missing", '"gone.h5", /frame): there is no such file beside it'],
    ["external-outside", '"../u2.npy", /frame): links are followed only to files inside the folder of this one'],
    ["external-absolute", '"/etc/hostname", /frame): links are followed only'],
    ["external-itself", '"external-itself.h5", /frame): that is the file itself'],
    ["external-loop", "that is the file itself"],
    ["virtual-missing", '("gone.h5"): there is no such file beside it'],
    ["virtual-outside", '("../plain.h5"): links are followed only'],
  ])("%s: are refused, with where they lead", async (name, message) => {
    const run = await inLinks(name);
    if (!run.ok) expect(messageOf(run)).toContain(message);
    else {
      expect(messageOf(await run.value.banks[0]!.readFrame(0, neverAborted))).toContain(message);
      run.value.close();
    }
  });

  it("are refused where the file system leads them out of the folder", async () => {
    const folder = temporaryFolder();
    mkdirSync(join(folder, "inside"));
    copyFileSync(fixture("links/pixels.h5"), join(folder, "pixels.h5"));
    copyFileSync(fixture("links/external-symlink.h5"), join(folder, "inside/start.h5"));
    symlinkSync("../pixels.h5", join(folder, "inside/way-out.h5"));
    expect(messageOf(await openSource(diskSource(join(folder, "inside/start.h5"))))).toContain(
      '"way-out.h5", /frame): links are followed only to files inside the folder',
    );
  });

  it("are not followed out of an archive's copy", async () => {
    const source = bytesSource("external.h5", fixtureBytes("links/external.h5"));
    expect(messageOf(await openSource(source))).toContain("links out of the file are not followed here");
  });
});

import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, statSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import type { FileToken, HostFile } from "../../../../core/host-contract.ts";
import type { Result } from "../../../../core/model/result.ts";
import { FileTokens } from "../../../../electron/services/file-tokens.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const root = temporaryFolder();
const data = join(root, "data");
mkdirSync(join(data, "more"), { recursive: true });
mkdirSync(join(root, "elsewhere"));
writeFileSync(join(data, "plan.json"), "{}");
writeFileSync(join(data, "more", "run.h5"), "frame");
writeFileSync(join(root, "elsewhere", "secret.txt"), "secret");
symlinkSync(join(root, "elsewhere", "secret.txt"), join(data, "link.txt"));
symlinkSync(join(root, "elsewhere"), join(data, "linked-folder"));
symlinkSync(join(data, "more", "run.h5"), join(data, "inner-link.h5"));

const store = join(root, "open-files.json");
const tokens = new FileTokens(store, data);

function taken(result: Result<HostFile>): HostFile {
  if (!result.ok) throw new Error(result.fault.message);
  return result.value;
}

describe("the files that the window may read", () => {
  it("gives a picked file one token that tells nothing of its path", async () => {
    const first = taken(await tokens.grant(join(data, "plan.json")));
    const second = taken(await tokens.grant(join(data, "more", "..", "plan.json")));
    expect(second).toEqual(first);
    expect(first).toMatchObject({ name: "plan.json", label: "plan.json", size: 2 });
    expect(first.token).toMatch(/^[\w-]{24}$/);
    expect(tokens.pathOf(first.token)).toEqual({ ok: true, value: join(data, "plan.json") });
  });

  it("labels a file outside the start folder with its whole path", async () => {
    const file = taken(await tokens.grant(join(root, "elsewhere", "secret.txt")));
    expect(file.label).toBe(join(root, "elsewhere", "secret.txt"));
  });

  it("finds what a plan names beside it, below it and through a link that stays inside", async () => {
    const plan = taken(await tokens.grant(join(data, "plan.json")));
    const run = taken(await tokens.grantBeside(plan.token, "more/run.h5"));
    expect(run).toMatchObject({ name: "run.h5", label: join("more", "run.h5"), size: 5 });
    expect(taken(await tokens.grantBeside(plan.token, "inner-link.h5")).token).toBe(run.token);
    // From a file below, the tree of the plan is still open.
    expect(taken(await tokens.grantBeside(run.token, "../plan.json")).name).toBe("plan.json");
  });

  it.each([
    "../elsewhere/secret.txt",
    "more/../../elsewhere/secret.txt",
    "link.txt",
    "linked-folder/secret.txt",
    join(root, "elsewhere", "secret.txt"),
    "/etc/passwd",
    "../no-such-file",
  ])("refuses %s beside a plan, and does not tell whether it exists", async (path) => {
    const plan = taken(await tokens.grant(join(data, "plan.json")));
    expect(await tokens.grantBeside(plan.token, path)).toMatchObject({
      ok: false,
      fault: {
        code: "unsupported",
        message: `"${path}" lies outside the folder of plan.json: open it by hand, or move it there`,
      },
    });
  });

  it("says which file is missing", async () => {
    const plan = taken(await tokens.grant(join(data, "plan.json")));
    expect(await tokens.grantBeside(plan.token, "absent.h5")).toMatchObject({
      ok: false,
      fault: { code: "missing", message: "cannot read absent.h5: there is no such file" },
    });
    expect(await tokens.grant(join(root, "absent.h5"))).toMatchObject({ ok: false, fault: { code: "missing" } });
  });

  it("refuses a token that was not given, folders, and pipes that would block", async () => {
    expect(await tokens.grantBeside("made-up" as FileToken, "plan.json")).toMatchObject({ ok: false });
    expect(tokens.pathOf("__proto__" as FileToken)).toMatchObject({ ok: false, fault: { code: "missing" } });
    expect(await tokens.grant(data)).toMatchObject({ ok: false, fault: { code: "unsupported" } });
    execFileSync("mkfifo", [join(data, "pipe")]);
    expect(await tokens.grant(join(data, "pipe"))).toMatchObject({ ok: false, fault: { code: "unsupported" } });
  });

  it("knows its tokens after a restart, from a file that only this account can read", async () => {
    const plan = taken(await tokens.grant(join(data, "plan.json")));
    await tokens.saved();
    expect(statSync(store).mode & 0o777).toBe(0o600);
    const restarted = new FileTokens(store, data);
    await restarted.restore();
    expect(restarted.pathOf(plan.token)).toEqual({ ok: true, value: join(data, "plan.json") });
    expect(taken(await restarted.grantBeside(plan.token, "more/run.h5")).name).toBe("run.h5");
  });

  it("starts empty from a damaged store", async () => {
    const broken = join(root, "broken.json");
    writeFileSync(broken, readFileSync(store, "utf8").slice(0, -3));
    const restarted = new FileTokens(broken, data);
    await restarted.restore();
    const plan = taken(await tokens.grant(join(data, "plan.json")));
    expect(restarted.pathOf(plan.token).ok).toBe(false);
  });
});

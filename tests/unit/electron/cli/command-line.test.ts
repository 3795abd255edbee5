import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, describe, expect, it } from "vitest";
import { failure, success } from "../../../../core/model/result.ts";
import { npyBytes } from "../../../../core/report/npy.ts";
import type { Command } from "../../../../electron/cli/command.ts";
import { parseArguments } from "../../../../electron/cli/parse-arguments.ts";
import { runCommandLine } from "../../../../electron/cli/run-command.ts";
import { halation } from "../../../support/command-line.ts";
import { poissonSource } from "../../../support/random.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const root = temporaryFolder();
const data = join(root, "data");
const SIDE = 32;

/** A flat frame of some ten counts a pixel. */
function frame(seed: number, width = SIDE): Uint8Array {
  const draw = poissonSource(seed);
  return npyBytes(
    Uint16Array.from({ length: width * SIDE }, () => draw(10)),
    { width, height: SIDE },
  );
}

const PLAN = {
  planVersion: 1,
  runs: { sample: "a.npy" as string | string[] },
  metadata: {
    all: { distance_m: 2, pixelSize_mm: [5, 5], wavelength_A: 6, beamCentre_px: [15.5, 15.5] },
    sample: { countTime_s: 100 },
  },
  corrections: { normaliseBy: "time" },
  averages: [{ id: "radial", kind: "radial" }],
  outputs: ["csv"],
};

function writePlan(name: string, change: Readonly<Record<string, unknown>> = {}): string {
  const file = join(data, name);
  writeFileSync(file, JSON.stringify({ ...PLAN, ...change }));
  return file;
}

function foldersOf(out: string): string[] {
  const entries = readdirSync(out, { withFileTypes: true });
  return entries.flatMap((entry) => (entry.isDirectory() ? [entry.name] : [])).sort();
}

beforeAll(() => {
  mkdirSync(data);
  writeFileSync(join(data, "a.npy"), frame(1));
  writeFileSync(join(data, "b.npy"), frame(2));
  mkdirSync(join(data, "more"));
  writeFileSync(join(data, "more", "a.npy"), frame(3));
  writeFileSync(join(data, "cut.npy"), frame(4).slice(0, 500));
  writeFileSync(join(data, "text.txt"), "not a frame");
});

describe("the command line", () => {
  it("lists its commands, and tells its version", async () => {
    for (const argv of [[], ["--help"], ["help"], ["-h"]]) {
      const { code, out, error } = await halation(argv);
      expect([code, error]).toEqual([0, ""]);
      for (const name of ["reduce", "inspect", "simulate"]) expect(out).toContain(`\n  ${name} `);
    }
    expect((await halation(["--version"])).out).toBe("0.0.0\n");
    expect((await halation(["--version", "--json"])).json()).toEqual({ version: "0.0.0" });
  });

  it("has a page of help for each command, whatever else is missing", async () => {
    const { code, out } = await halation(["reduce", "--help"]);
    expect(code).toBe(0);
    expect(out).toContain("halation reduce PLAN --out DIR [OPTIONS]");
    expect(out).toContain("--sample FILE ...");
    expect(out).toContain("--json");
  });

  it.each([
    [["reduse", "x"], 'there is no command "reduse"; did you mean reduce? (see halation --help)'],
    [["xyz"], 'there is no command "xyz" (see halation --help)'],
    [["reduce"], "reduce needs PLAN (see halation reduce --help)"],
    [["reduce", "p.json"], "reduce needs --out DIR (see halation reduce --help)"],
    [["reduce", "p.json", "--out"], "--out needs a value: DIR (see halation reduce --help)"],
    [["reduce", "p.json", "--out", "--force"], "--out needs a value: DIR (see halation reduce --help)"],
    [
      ["reduce", "p.json", "--ouy", "x"],
      "reduce has no option --ouy; did you mean --out? (see halation reduce --help)",
    ],
    [["inspect", "a", "b"], 'inspect takes no further argument "b" (see halation inspect --help)'],
    [["inspect", "a", "-x"], "inspect has no option -x (see halation inspect --help)"],
    [["inspect", "a", "--json=1"], "--json takes no value (see halation inspect --help)"],
  ])("answers %j with one sentence", async (argv, sentence) => {
    expect(await halation(argv)).toMatchObject({ code: 2, out: "", error: `halation: ${sentence}\n` });
  });

  it("writes a fault as JSON when asked, besides the sentence", async () => {
    const { code, error, json } = await halation(["inspect", join(data, "absent.h5"), "--json"]);
    expect(code).toBe(2);
    expect(json()).toEqual({
      error: {
        code: "missing",
        message: `cannot read ${join(data, "absent.h5")}: there is no such file`,
        file: join(data, "absent.h5"),
      },
    });
    expect(error.split("\n")).toHaveLength(2);
  });

  it("owns up to its own bugs: exit code 1, no stack unless asked", async () => {
    const run = async (isDebugging: boolean) => {
      let error = "";
      const command: Command = {
        name: "break",
        summary: "",
        arguments: [],
        options: {},
        run: () => Promise.reject(new RangeError("bins are empty")),
      };
      const code = await runCommandLine(["break"], {
        commands: [command],
        version: "0",
        signal: new AbortController().signal,
        terminal: { out: () => {}, error: { write: (text) => (error += text) }, isDebugging },
      });
      return { code, error };
    };
    const plain = await run(false);
    expect(plain.code).toBe(1);
    expect(plain.error).toContain("a fault of the program, not of your input: bins are empty\n");
    expect(plain.error).not.toContain("    at ");
    expect((await run(true)).error).toContain("    at ");
  });

  it("ends with 3 and names each input when a part of a batch failed, and with 130 when stopped", async () => {
    const command = (run: Command["run"]): Command => ({ name: "go", summary: "", arguments: [], options: {}, run });
    const go = async (one: Command, signal = new AbortController().signal) => {
      let error = "";
      const terminal = { out: () => {}, error: { write: (text: string) => (error += text) }, isDebugging: false };
      return { code: await runCommandLine(["go"], { commands: [one], version: "0", signal, terminal }), error };
    };
    const fault = { code: "missing", message: "no monitor", file: "b.h5" } as const;
    const partly = await go(command(async () => success({ json: {}, text: "", failed: [fault] })));
    expect(partly).toEqual({ code: 3, error: "halation: b.h5: no monitor\n" });
    const stopped = new AbortController();
    const cancelled = await go(
      command(async ({ signal }) => {
        stopped.abort();
        signal.throwIfAborted();
        return failure("missing", "never");
      }),
      stopped.signal,
    );
    expect(cancelled).toEqual({ code: 130, error: "halation: stopped; nothing half done was left behind\n" });
  });

  it("draws a bar on a terminal and takes it away again, and is silent on a pipe", async () => {
    const plan = writePlan("bar.json");
    const piped = await halation(["reduce", plan, "--out", join(root, "bar")]);
    expect([piped.code, piped.error]).toEqual([0, ""]);
    const shown = await halation(["reduce", plan, "--out", join(root, "bar")], { isTTY: true });
    expect(shown.error).toContain("%");
    expect(shown.error.endsWith("\r\u001b[K")).toBe(true);
  });

  it("takes the plain arguments behind a list option as its values", () => {
    const command: Command = {
      name: "reduce",
      summary: "",
      arguments: ["PLAN"],
      options: { out: { type: "string", help: "" }, sample: { type: "string", isList: true, help: "" } },
      run: () => Promise.reject(new Error("not run")),
    };
    const parsed = parseArguments(command, ["p", "--sample", "a", "b", "--out", "d", "--sample=c", "--", "-e"]);
    expect(parsed).toMatchObject({ ok: false });
    const good = parseArguments(command, ["p", "--sample", "a", "b", "--out", "d", "--sample=c"]);
    expect(good.ok && good.value.lists.get("sample")).toEqual(["a", "b", "c"]);
    expect(good.ok && good.value.positionals).toEqual(["p"]);
    const planBehind = parseArguments(command, ["--sample", "a", "p"]);
    expect(planBehind.ok && planBehind.value.positionals).toEqual(["p"]);
  });
});

describe("inspect", () => {
  it("tells what a frame holds", async () => {
    const { code, json } = await halation(["inspect", join(data, "a.npy"), "--json"]);
    expect(code).toBe(0);
    const draw = poissonSource(1);
    const total = Array.from({ length: SIDE * SIDE }, () => draw(10)).reduce((a, b) => a + b, 0);
    expect(json()).toMatchObject({
      format: "npy",
      banks: [{ width: SIDE, height: SIDE, frames: 1 }],
      statistics: { total, invalid: 0 },
    });
    expect(json()["missing"]).toContain("wavelength_A");
    expect((await halation(["inspect", join(data, "a.npy")])).out).toContain("32 x 32 pixels");
  });

  it.each(["text.txt", "cut.npy", "."])("answers %s with one sentence that names it", async (name) => {
    const { code, out, error } = await halation(["inspect", join(data, name)]);
    expect([code, out]).toEqual([2, ""]);
    expect(error).toContain(name === "." ? data : name);
    expect(error.trim().split("\n")).toHaveLength(1);
  });
});

describe("reduce", () => {
  it("writes the result of a plan, whose paths start from the plan", async () => {
    const out = join(root, "one");
    const plan = writePlan("one.json");
    const { code, json } = await halation(["reduce", plan, "--out", out, "--json"]);
    expect(code).toBe(0);
    expect(json()).toMatchObject({ out, intensityUnit: "counts/s/sr" });
    expect(readdirSync(out).sort()).toEqual([".halation.json", "curves", "ledger.json", "summary.json"]);
    const [header, ...rows] = readFileSync(join(out, "curves/radial.csv"), "utf8").trim().split("\n");
    expect(header).toBe("Q,I,dI,dQ,pixels,counts");
    // Every pixel belongs to one bin, or to none beyond the range: no count is counted twice.
    const counted = rows.reduce((sum, row) => sum + Number(row.split(",")[5]), 0);
    expect(counted).toBeGreaterThan(0.8 * 10 * SIDE * SIDE);
    const ledger = JSON.parse(readFileSync(join(out, "ledger.json"), "utf8")) as {
      inputs: { role: string; file: string; sha256: string }[];
    };
    const sha256 = createHash("sha256").update(frame(1)).digest("hex");
    expect(ledger.inputs).toMatchObject([{ role: "sample", file: "a.npy", sha256 }]);
  });

  it("gives each sample of a batch a folder of its own, goes on past a bad one, and ends with 3", async () => {
    const out = join(root, "batch");
    const plan = writePlan("batch.json", { runs: { sample: ["a.npy", "cut.npy", "more/a.npy", "b.npy"] } });
    const { code, json, error } = await halation(["reduce", plan, "--out", out, "--json"]);
    expect(code).toBe(3);
    expect(foldersOf(out)).toEqual(["a", "a-2", "b"]);
    expect(error.trim().split("\n")).toHaveLength(1);
    expect(error).toContain("cut.npy");
    expect(json()).toMatchObject({
      failed: 1,
      results: [
        { sample: "a.npy", out: join(out, "a") },
        { sample: "cut.npy", error: { file: "cut.npy" } },
        { sample: "more/a.npy", out: join(out, "a-2") },
        { sample: "b.npy" },
      ],
    });
    // The same plan gives the same folders again.
    expect((await halation(["reduce", plan, "--out", out])).code).toBe(3);
    expect(foldersOf(out)).toEqual(["a", "a-2", "b"]);
  });

  it("takes samples of the command line instead of the plan's, by name from here", async () => {
    const plan = writePlan("other.json", { runs: { sample: "absent.npy" } });
    const one = join(root, "other");
    expect((await halation(["reduce", plan, "--out", one, "--sample", join(data, "b.npy")])).code).toBe(0);
    expect(existsSync(join(one, "summary.json"))).toBe(true);
    const many = join(root, "others");
    const samples = [join(data, "a.npy"), join(data, "b.npy")];
    expect((await halation(["reduce", plan, "--out", many, "--sample", ...samples])).code).toBe(0);
    expect(foldersOf(many)).toEqual(["a", "b"]);
  });

  it.each([
    ["a misspelt key", { corections: {} }, "corrections"],
    ["a sample that is not there", { runs: { sample: "absent.npy" } }, "absent.npy"],
    ["a sample that is no frame", { runs: { sample: "text.txt" } }, "text.txt"],
    ["a cut sample", { runs: { sample: "cut.npy" } }, "cut.npy"],
    ["a mask of another size", { mask: { file: "mask.npy" } }, "mask.npy"],
    ["a role without what it needs", { runs: { sample: "a.npy", emptyCell: "b.npy" } }, "emptyCell"],
  ])("answers %s with one sentence, and leaves no output", async (what, change, named) => {
    writeFileSync(join(data, "mask.npy"), frame(5, SIDE + 1));
    const out = join(root, `fault ${what}`);
    const plan = writePlan("fault.json", change);
    const { code, error } = await halation(["reduce", plan, "--out", out]);
    expect(code).toBe(2);
    expect(error).toContain(named);
    expect(error.trim().split("\n")).toHaveLength(1);
    expect(readdirSync(root).filter((name) => name.includes("fault"))).toEqual([]);
  });

  it("names line and column of a plan that is no JSON", async () => {
    const plan = join(data, "broken.json");
    writeFileSync(plan, '{\n  "planVersion": 1,,\n}');
    const { code, error } = await halation(["reduce", plan, "--out", join(root, "broken")]);
    expect(code).toBe(2);
    expect(error).toContain(plan);
    expect(error).toContain("line 2, column 20");
  });

  it("does not touch a folder that it did not make, unless it is told to, and then keeps what is there", async () => {
    const out = join(root, "mine");
    mkdirSync(out);
    writeFileSync(join(out, "notes.txt"), "notes");
    const plan = writePlan("one.json");
    const refused = await halation(["reduce", plan, "--out", out]);
    expect(refused.code).toBe(2);
    expect(refused.error).toContain("--out");
    expect(readdirSync(out)).toEqual(["notes.txt"]);
    expect((await halation(["reduce", plan, "--out", out, "--force"])).code).toBe(0);
    expect(readFileSync(join(out, "notes.txt"), "utf8")).toBe("notes");
    expect(existsSync(join(out, "summary.json"))).toBe(true);
  });

  it("leaves nothing behind when it is stopped", async () => {
    const stopped = new AbortController();
    stopped.abort();
    const out = join(root, "stopped");
    const { code } = await halation(["reduce", writePlan("one.json"), "--out", out], { signal: stopped.signal });
    expect(code).toBe(130);
    expect(readdirSync(root).filter((name) => name.includes("stopped"))).toEqual([]);
  });

  it("does not change the files that it reads", async () => {
    const before = readFileSync(join(data, "a.npy"));
    await halation(["reduce", writePlan("one.json"), "--out", join(root, "untouched")]);
    expect(readFileSync(join(data, "a.npy")).equals(before)).toBe(true);
    expect(readdirSync(data).filter((name) => name.startsWith("."))).toEqual([]);
  });
});

import { execFile } from "node:child_process";
import { cp, mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { promisify } from "node:util";
import { expect, type Locator, type Page, test } from "@playwright/test";
import { startWindowHost, type WindowHost } from "./support/window-host.ts";

const ROOT = resolve(import.meta.dirname, "../..");
const run = promisify(execFile);

/** A loaded machine draws a few pictures a second: what takes a second by itself may take a minute there. */
const PATIENCE = { timeout: 90_000 };
test.describe.configure({ mode: "serial", timeout: 300_000 });

let folder: string;
let planFile: string;

test.beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "halation-window-"));
  await cp(join(ROOT, "samples"), folder, { recursive: true });
  const plan = JSON.parse(await readFile(join(folder, "rods.plan.json"), "utf8"));
  plan.runs.sample = "rods-shear-300.h5";
  planFile = join(folder, "sheared.plan.json");
  await writeFile(planFile, JSON.stringify(plan));
});

test.afterAll(async () => {
  await rm(folder, { recursive: true, force: true });
});

async function withWindow(
  page: Page,
  files: readonly string[],
  work: (host: WindowHost) => Promise<void>,
  data?: string,
): Promise<void> {
  const host = await startWindowHost(files, data);
  const complaints: string[] = [];
  page.on("pageerror", (error) => complaints.push(error.message));
  page.on("console", (message) => {
    if (message.type() === "error") complaints.push(message.text());
  });
  try {
    await page.goto(host.address);
    await work(host);
    expect(complaints).toEqual([]);
  } finally {
    // The page goes first, so that it doesn't complain of a host that is gone.
    await page.goto("about:blank");
    await host.stop();
  }
}

/** Reduced, and nothing under way. */
async function settled(page: Page): Promise<void> {
  await expect(page.locator(".ledger-count")).toBeVisible(PATIENCE);
  await expect(page.locator(".working-bar")).toHaveCount(0, PATIENCE);
}

async function middleOf(target: Locator): Promise<{ x: number; y: number }> {
  const box = await target.boundingBox();
  if (box === null) throw new Error("what should be dragged is not on the screen");
  return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
}

async function drag(page: Page, from: { x: number; y: number }, by: readonly [number, number]): Promise<void> {
  await page.mouse.move(from.x, from.y);
  await page.mouse.down();
  for (let step = 1; step <= 4; step++) await page.mouse.move(from.x + (by[0] * step) / 4, from.y + (by[1] * step) / 4);
  await page.mouse.up();
}

/** One step back, waited for. */
async function undoOnce(page: Page): Promise<void> {
  await undoButton(page).click();
  await page.waitForTimeout(200);
}

const undoButton = (page: Page) => page.getByRole("button", { name: "Undo", exact: true });

test("a frame is inspected, changed, undone, and exported as the command line writes it", async ({ page }, info) => {
  await withWindow(page, [planFile], async (host) => {
    await settled(page);
    await page.getByRole("tab", { name: "Plan", exact: true }).click();

    await test.step("dragging the centre moves the numbers, and undo brings them back", async () => {
      await page.screenshot({ path: info.outputPath("opened.png") });
      const x = page.getByRole("textbox", { name: "Centre, x" });
      const before = Number(await x.inputValue());
      const stop = page.locator(".step[data-step=beamCentre] .step-line");
      const line = await stop.textContent();
      await drag(page, await middleOf(page.getByRole("slider", { name: "Beam centre" })), [25, 0]);
      await settled(page);
      await expect.poll(async () => Number(await x.inputValue()), PATIENCE).toBeGreaterThan(before + 3);
      await expect(stop).not.toHaveText(line ?? "", PATIENCE);
      await page.screenshot({ path: info.outputPath("centre-moved.png") });
      // One drag is one step.
      await undoButton(page).click();
      await expect.poll(async () => Number(await x.inputValue()), PATIENCE).toBeCloseTo(before, 4);
      await expect(stop).toHaveText(line ?? "", PATIENCE);
      await expect(undoButton(page)).toHaveAttribute("aria-disabled", "true");
    });

    await test.step("a drawn circle masks pixels; undo and redo take it away and bring it back", async () => {
      const masked = page.locator(".section-count", { hasText: "px masked" });
      const before = Number.parseInt((await masked.textContent()) ?? "", 10);
      await page.keyboard.press("c");
      const stage = await middleOf(page.locator(".frame-stage"));
      await drag(page, { x: stage.x + 90, y: stage.y + 90 }, [20, 0]);
      await settled(page);
      await expect(page.locator(".shape")).toHaveCount(1, PATIENCE);
      const count = async () => Number.parseInt((await masked.textContent()) ?? "", 10);
      await expect.poll(count, PATIENCE).toBeGreaterThan(before + 10);
      await undoButton(page).click();
      await expect(page.locator(".shape")).toHaveCount(0, PATIENCE);
      await expect.poll(count, PATIENCE).toBe(before);
      await page.keyboard.press("Control+Shift+Z");
      await expect(page.locator(".shape")).toHaveCount(1, PATIENCE);
      await expect.poll(count, PATIENCE).toBeGreaterThan(before + 10);
      await page.keyboard.press("v");
    });

    await test.step("turning a sector changes its direction", async () => {
      const direction = page.locator("[data-average=flow]").getByRole("textbox", { name: "Centre" });
      const before = await direction.inputValue();
      await drag(page, await middleOf(page.getByRole("slider", { name: "Sector flow, direction" })), [-10, -45]);
      await settled(page);
      await expect(direction).not.toHaveValue(before, PATIENCE);
      await page.screenshot({ path: info.outputPath("sector-turned.png") });
    });

    await test.step("the circle of the direct beams is narrowed by keys; the transmission follows, and undo brings it back", async () => {
      await page.getByRole("tab", { name: "Transmission", exact: true }).click();
      const found = page.locator(".beam-result", { hasText: "Of the sample" }).locator(".quantity");
      const edge = page.getByRole("slider", { name: "Radius of the direct beam, in empty beam" });
      await expect(edge).toHaveAttribute("aria-valuetext", "8 px", PATIENCE);
      const before = await found.textContent();
      await edge.focus();
      for (let step = 0; step < 4; step++) await page.keyboard.press("Shift+ArrowLeft");
      await settled(page);
      await expect(edge).toHaveAttribute("aria-valuetext", "4 px", PATIENCE);
      await expect(found).not.toHaveText(before ?? "", PATIENCE);
      await page.screenshot({ path: info.outputPath("transmission.png") });
      await expect(page.locator(".beam-tile")).toHaveCount(3);
      while ((await edge.getAttribute("aria-valuetext")) !== "8 px") await undoOnce(page);
      await expect(found).toHaveText(before ?? "", PATIENCE);
      await page.getByRole("tab", { name: "Plan", exact: true }).click();
    });

    await test.step("the exported files are those of the command line, byte for byte", async () => {
      await page.keyboard.press("Control+s");
      await expect(page.locator(".notice", { hasText: ".plan.json" })).toBeVisible(PATIENCE);
      await page.keyboard.press("Control+e");
      await expect(page.locator(".notice", { hasText: "Saved" })).toHaveCount(2, PATIENCE);
      const saved = await filesUnder(host.exports);
      const plan = saved.find((file) => file.endsWith(".plan.json"));
      if (plan === undefined) throw new Error(`no plan among ${saved.join(", ")}`);
      await cp(plan, join(folder, "exported.plan.json"));
      const out = join(folder, "reduced");
      await run(
        process.execPath,
        ["electron/launch/halation.mjs", "reduce", join(folder, "exported.plan.json"), "--out", out],
        {
          cwd: ROOT,
        },
      );
      const curves = (await readdir(join(out, "curves"))).filter((name) => name.endsWith(".csv"));
      expect(curves.sort()).toEqual(["across.csv", "flow.csv", "radial.csv", "ring.csv"]);
      for (const name of curves) {
        const exported = saved.find((file) => file.endsWith(`/${name}`));
        if (exported === undefined) throw new Error(`${name} was not exported: ${saved.join(", ")}`);
        expect((await readFile(exported)).equals(await readFile(join(out, "curves", name))), name).toBe(true);
      }
    });
  });
});

test("the session comes back at the next start, with its steps of undo and its keys", async ({ page }) => {
  const data = join(folder, "account");
  const edge = page.getByRole("textbox", { name: "Edge" });
  await withWindow(
    page,
    [planFile],
    async () => {
      await settled(page);
      await page.getByRole("tab", { name: "Plan", exact: true }).click();
      await edge.fill("7");
      await edge.press("Enter");
      await settled(page);
      await giveUndoAnotherKey(page);
      await expect.poll(() => readFile(join(data, "session.json"), "utf8"), PATIENCE).toContain("edge_px");
      await page.waitForTimeout(1000);
    },
    data,
  );
  await withWindow(
    page,
    [],
    async () => {
      await settled(page);
      await expect(page.locator(".document-file")).toHaveText("rods-shear-300.h5");
      await expect(edge).toHaveValue("7");
      await page.keyboard.press("Control+z");
      await expect(edge).toHaveValue("7");
      await page.keyboard.press("q");
      await expect(edge).not.toHaveValue("7", PATIENCE);
      // A plan of one's own opens without the first steps.
      await expect(page.getByRole("region", { name: "First steps" })).toHaveCount(0);
    },
    data,
  );
});

test("a file that is no frame is refused in one sentence, and the work stays", async ({ page }) => {
  await withWindow(page, [planFile], async () => {
    await settled(page);
    await dropFile(page, "shopping-list.txt", "bread, butter, neutrons");
    await expect(page.locator(".notice.fault")).toContainText("shopping-list.txt", PATIENCE);
    await expect(page.locator(".notice.fault")).toHaveCount(1);
    await dropFile(page, "wrong.plan.json", JSON.stringify({ planVersion: 1, runs: { sampel: "a.h5" } }));
    await expect(page.locator(".notice.fault", { hasText: "sampel" })).toBeVisible(PATIENCE);
    await expect(page.locator(".document-file")).toHaveText("rods-shear-300.h5");
    await expect(undoButton(page)).toHaveAttribute("aria-disabled", "true");
  });
});

test("a plan that comes alone says which files it waits for, and takes them by their names", async ({ page }) => {
  await withWindow(page, [planFile], async () => {
    await settled(page);
    const plan = {
      planVersion: 1,
      title: "Lonely",
      runs: { sample: "rods-rest.h5", emptyBeam: "direct.h5" },
      averages: [],
    };
    await dropFile(page, "lonely.plan.json", JSON.stringify(plan));
    const asking = page.locator(".notice", { hasText: "lonely.plan.json" });
    await expect(asking).toContainText("drop rods-rest.h5, direct.h5 on the window", PATIENCE);
    for (const name of ["rods-rest.h5", "direct.h5"])
      await dropFile(page, name, (await readFile(join(folder, name))).toString("base64"), "base64");
    await expect(page.locator(".document-file")).toHaveText("rods-rest.h5", PATIENCE);
    await expect(page.locator(".notice")).toHaveCount(0, PATIENCE);
  });
});

test("a dropped frame opens as one more sample of the plan", async ({ page }) => {
  await withWindow(page, [planFile], async () => {
    await settled(page);
    const bytes = await readFile(join(folder, "rods-rest.h5"));
    await dropFile(page, "at-rest.h5", bytes.toString("base64"), "base64");
    await expect(page.locator(".document-file")).toHaveText("at-rest.h5", PATIENCE);
    await expect(page.locator(".run", { hasText: "at-rest.h5" })).toContainText("Sample");
    await undoButton(page).click();
    await expect(page.locator(".document-file")).toHaveText("rods-shear-300.h5", PATIENCE);
  });
});

/** By the keyboard: one press is refused, one is warned of, and one taken from the command that has it. */
async function giveUndoAnotherKey(page: Page): Promise<void> {
  await page.keyboard.press("Control+k");
  await page.getByRole("combobox", { name: "Search commands" }).fill("shortcuts");
  await page.keyboard.press("Enter");
  const sheet = page.getByRole("dialog", { name: "Keys", exact: true });
  const said = sheet.getByRole("status");
  const undo = sheet.getByRole("button", { name: /^Keys of Undo/ });
  await expect(sheet.getByRole("button", { name: "Keys of All commands: Ctrl+K" })).toBeVisible(PATIENCE);
  await undo.press("Enter");
  await page.keyboard.press("ArrowUp");
  await expect(said).toContainText("move about in the window");
  await page.keyboard.press("F5");
  await expect(said).toContainText("a browser loads the page anew");
  await expect(undo).toHaveAccessibleName("Keys of Undo: F5");
  await undo.press("Enter");
  await page.keyboard.press("q");
  await expect(said).toContainText("Q belongs to “Show or hide Q rings”");
  await expect(undo).toHaveAccessibleName("Keys of Undo: F5");
  await page.keyboard.press("Enter");
  await expect(undo).toHaveAccessibleName("Keys of Undo: Q");
  await expect(undo).toBeFocused();
  await expect(sheet.getByRole("button", { name: "Keys of Show or hide Q rings: none" })).toBeVisible();
  await page.keyboard.press("Escape");
  await expect(sheet).toHaveCount(0);
}

/** What a person does with the mouse from the desktop, which no browser lets a test do. */
async function dropFile(
  page: Page,
  name: string,
  content: string,
  encoding: "text" | "base64" = "text",
): Promise<void> {
  await page.evaluate(
    ([fileName, text, how]) => {
      const bytes = how === "text" ? text : Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
      const dataTransfer = new DataTransfer();
      dataTransfer.items.add(new File([bytes], fileName));
      document
        .querySelector(".window")
        ?.dispatchEvent(new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer }));
    },
    [name, content, encoding] as const,
  );
}

async function filesUnder(top: string): Promise<string[]> {
  const entries = await readdir(top, { recursive: true, withFileTypes: true });
  return entries.filter((entry) => entry.isFile()).map((entry) => join(entry.parentPath, entry.name));
}

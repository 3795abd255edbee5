import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, type Page, test } from "@playwright/test";
import { npyBytes } from "../../core/report/npy.ts";
import { writeLargeFrame } from "../e2e/support/large-frame.ts";
import { startWindowHost, type WindowHost } from "../e2e/support/window-host.ts";
import { poissonSource } from "../support/random.ts";
import { LONG_TASK_MS, type MainThread, traced } from "./main-thread.ts";
import { chromiumMemory } from "./memory.ts";
import { answersOf, forgetAnswers, watchAnswers } from "./watch-page.ts";

const PATIENCE = { timeout: 180_000 };
/** What follows a reduction (verdict, harmonics, what a drag needs) has had time to come. */
const IDLE_MS = 6000;
const LARGE_SIDE = 2048;
const SIDE = 256;
const FLIPS = 200;
const OPENED = 1000;

let folder = "";
test.beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "halation-felt-"));
});
test.afterAll(() => rm(folder, { recursive: true, force: true }));

test("cold start to the first curve", async ({ browser, page }) => {
  const begin = performance.now();
  const host = await startWindowHost([]);
  try {
    const served = performance.now() - begin;
    await watchAnswers(page);
    const main = await traced(browser, page, async () => {
      await page.goto(host.address);
      await quiet(page);
    });
    const [first] = await answersOf(page, "reduce");
    console.log(`start: host ${served.toFixed(0)} ms; page to first curve ${first?.painted.toFixed(0)} ms`);
    tell("cold start, and all that follows the first curve", main);
  } finally {
    await leave(page, host);
  }
});

test("a frame of 2048 x 2048 is opened, its centre and a sector are dragged", async ({ browser, page }) => {
  await writeLargeFrame(folder, LARGE_SIDE);
  const host = await startWindowHost([]);
  try {
    await watchAnswers(page);
    await page.goto(host.address);
    await quiet(page);
    await forgetAnswers(page);
    const files = ["large.plan.json", "large.npy"].map((name) => join(folder, name));
    let begin = 0;
    const opened = await traced(browser, page, async () => {
      const choosing = page.waitForEvent("filechooser");
      await page.keyboard.press("Control+o");
      const chooser = await choosing;
      begin = await page.evaluate(() => performance.now());
      await chooser.setFiles(files);
      await expect(page.locator(".document-title")).toContainText("large.npy", PATIENCE);
      await quiet(page);
    });
    const [shown] = await answersOf(page, "reduce");
    console.log(`2048 x 2048: opened to curve ${((shown?.painted ?? Number.NaN) - begin).toFixed(0)} ms`);
    tell("open 2048 x 2048, and all that follows", opened);
    for (const handle of ["Beam centre", "Sector flow, direction"]) {
      await forgetAnswers(page);
      tell(`drag of ${handle}`, await traced(browser, page, () => drag(page, handle)));
      const steps = await answersOf(page, "follow");
      console.log(
        `  answers ${steps.length}, ask to paint ${spread(steps.map((step) => step.painted - step.asked))} ms`,
      );
      await quiet(page);
    }
  } finally {
    await leave(page, host);
  }
});

test("flipping through 200 frames", async ({ browser, page }) => {
  const host = await startWindowHost([await writeFrames(FLIPS)]);
  try {
    await watchAnswers(page);
    tell(
      `open a plan of ${FLIPS} samples`,
      await traced(browser, page, async () => {
        await page.goto(host.address);
        await quiet(page);
      }),
    );
    let times: readonly number[] = [];
    const main = await traced(browser, page, async () => {
      times = await flip(page, FLIPS);
    });
    console.log(`flip: press to paint ${spread(times)} ms`);
    tell(`flip through ${FLIPS} frames`, main);
  } finally {
    await leave(page, host);
  }
});

test("memory over 1000 opened frames", async ({ page }) => {
  const host = await startWindowHost([await writeFrames(OPENED)]);
  try {
    await watchAnswers(page);
    await page.goto(host.address);
    await quiet(page);
    for (let opened = 0; opened <= OPENED; opened += FLIPS) {
      if (opened > 0) await flip(page, FLIPS);
      console.log(`${opened} frames opened: ${await chromiumMemory(page)}`);
    }
  } finally {
    await leave(page, host);
  }
});

/** Steps to the next frame `count` times by its key, each after the last was on the screen. @returns ms each */
async function flip(page: Page, count: number): Promise<readonly number[]> {
  const times: number[] = [];
  for (let i = 0; i < count; i++) {
    await forgetAnswers(page);
    const begin = await page.evaluate((step) => {
      const rows = [...document.querySelectorAll<HTMLElement>(".runs .run-name")];
      const at = rows.findIndex((row) => row.getAttribute("aria-current") === "true");
      const now = performance.now();
      rows[(at + step) % rows.length]?.click();
      return now;
    }, 1);
    await page.waitForFunction(() => window.answers.some(({ kind }) => kind === "reduce"), undefined, PATIENCE);
    const [shown] = await answersOf(page, "reduce");
    times.push((shown?.painted ?? Number.NaN) - begin);
  }
  return times;
}

async function drag(page: Page, handle: string): Promise<void> {
  const box = await page.getByRole("slider", { name: handle }).boundingBox();
  if (box === null) throw new Error(`${handle} is not on the screen`);
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  for (let step = 1; step <= 100; step++)
    await page.mouse.move(x + 20 * Math.sin(step / 9), y + 20 * (1 - Math.cos(step / 9)));
  await page.mouse.up();
}

async function quiet(page: Page): Promise<void> {
  await expect(page.locator(".ledger-count")).toBeVisible(PATIENCE);
  await expect(page.locator(".working-bar")).toHaveCount(0, PATIENCE);
  await page.waitForTimeout(IDLE_MS);
}

async function leave(page: Page, host: WindowHost): Promise<void> {
  await page.goto("about:blank");
  await host.stop();
}

async function writeFrames(count: number): Promise<string> {
  const poisson = poissonSource(count);
  const means = new Float64Array(SIDE * SIDE);
  for (let y = 0, p = 0; y < SIDE; y++)
    for (let x = 0; x < SIDE; x++, p++) means[p] = 30 / (1 + ((x - 120) ** 2 + (y - 130) ** 2) / 400);
  const names: string[] = [];
  for (let i = 0; i < count; i++) {
    const name = `frame-${String(i).padStart(4, "0")}.npy`;
    names.push(name);
    await writeFile(join(folder, name), npyBytes(Uint16Array.from(means, poisson), { width: SIDE, height: SIDE }));
  }
  const plan = {
    planVersion: 1,
    runs: { sample: names },
    metadata: {
      all: { distance_m: 4, pixelSize_mm: [2.5, 2.5], wavelength_A: 6, beamCentre_px: [120, 130] },
      sample: { countTime_s: 600 },
    },
    corrections: { normaliseBy: "time" },
    averages: [{ id: "radial", kind: "radial", bins: { spacing: "log", count: 200, qMin: 0.005, qMax: 0.2 } }],
  };
  const file = join(folder, `frames-${count}.plan.json`);
  await writeFile(file, JSON.stringify(plan));
  return file;
}

function tell(what: string, { tasks, long, longest, busy }: MainThread): void {
  console.log(
    `${what}: ${tasks} tasks, busy ${busy.toFixed(0)} ms, longest ${longest.toFixed(0)} ms, above ${LONG_TASK_MS} ms: ${long.length}`,
  );
  for (const { ms, parts } of long.slice(0, 6)) console.log(`  ${ms.toFixed(0)} ms: ${parts.join(", ")}`);
}

function spread(times: readonly number[]): string {
  const sorted = [...times].sort((a, b) => a - b);
  const at = (part: number) => sorted[Math.floor(part * (sorted.length - 1))]?.toFixed(0);
  return `median ${at(0.5)}, nine tenths ${at(0.9)}, longest ${at(1)}`;
}

import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { expect, type Page, test } from "@playwright/test";
import { writeLargeFrame } from "../e2e/support/large-frame.ts";
import { startWindowHost } from "../e2e/support/window-host.ts";
import { answersOf, forgetAnswers, watchAnswers } from "./watch-page.ts";

const SIDE = 1024;
const STEPS = 120;
/** What the worker prepares in idle time has had time to be ready. */
const IDLE_MS = 8000;
const PATIENCE = { timeout: 180_000 };

/** One step of a drag, ms. */
interface Step {
  readonly worker: number;
  /** From the question to its answer, as the page sees it. */
  readonly roundTrip: number;
  /** From the question until the picture with its answer was handed over. */
  readonly painted: number;
}

test("a drag in the window, part by part", async ({ page }) => {
  const folder = await mkdtemp(join(tmpdir(), "halation-drag-"));
  const host = await startWindowHost([await writeLargeFrame(folder, SIDE)]);
  try {
    await watchAnswers(page);
    await page.goto(host.address);
    await expect(page.locator(".ledger-count")).toBeVisible(PATIENCE);
    await expect(page.locator(".working-bar")).toHaveCount(0, PATIENCE);
    await page.waitForTimeout(IDLE_MS);
    const yardstick = await page.evaluate(naiveRadial, SIDE);
    console.log(`yardstick, radii and angles computed for each pixel: ${yardstick.toFixed(1)} ms`);
    for (const handle of ["Beam centre", "Sector flow, direction"]) {
      tell(handle, await dragged(page, handle), yardstick);
      await page.waitForTimeout(IDLE_MS);
    }
  } finally {
    await page.goto("about:blank");
    await host.stop();
    await rm(folder, { recursive: true, force: true });
  }
});

async function dragged(page: Page, handle: string): Promise<readonly Step[]> {
  const box = await page.getByRole("slider", { name: handle }).boundingBox();
  if (box === null) throw new Error(`${handle} is not on the screen`);
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await forgetAnswers(page);
  await page.mouse.move(x, y);
  await page.mouse.down();
  for (let step = 1; step <= STEPS; step++)
    await page.mouse.move(x + 20 * Math.sin(step / 9), y + 20 * (1 - Math.cos(step / 9)));
  const steps = await answersOf(page, "follow");
  await page.mouse.up();
  return steps.map(({ asked, answered, painted, worker = Number.NaN }) => ({
    worker,
    roundTrip: answered - asked,
    painted: painted - asked,
  }));
}

function tell(what: string, steps: readonly Step[], yardstick: number): void {
  console.log(
    `${what}: ${steps.length} answers for ${STEPS} moves; the first took ${steps[0]?.roundTrip.toFixed(1)} ms`,
  );
  for (const part of ["worker", "roundTrip", "painted"] as const) {
    const sorted = steps.map((step) => step[part]).sort((a, b) => a - b);
    const [best = Number.NaN, middle = Number.NaN] = [sorted[0], sorted[sorted.length >> 1]];
    console.log(
      `  ${part}: best ${best.toFixed(2)}, median ${middle.toFixed(2)} ms; best over yardstick ${(best / yardstick).toFixed(3)}`,
    );
  }
}

/** The plain way: radius, angle and Q of every pixel by root, arc tangent and sine; best of ten, ms. */
function naiveRadial(side: number): number {
  const counts = new Float64Array(side * side).fill(1);
  const sums = new Float64Array(512);
  let best = Number.POSITIVE_INFINITY;
  for (let repetition = 0; repetition < 10; repetition++) {
    const start = performance.now();
    const [x0, y0] = [side / 2 + repetition / 10, side / 2];
    for (let y = 0, p = 0; y < side; y++)
      for (let x = 0; x < side; x++, p++) {
        const q = Math.sin(Math.atan(Math.sqrt((x - x0) ** 2 + (y - y0) ** 2) / (8 * side)) / 2);
        sums[Math.min(511, (q * 8000) | 0)]! += counts[p]!;
      }
    best = Math.min(best, performance.now() - start);
  }
  return best;
}

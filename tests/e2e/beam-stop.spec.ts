import { copyFile, mkdir, mkdtemp, rename, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { expect, type Page, test } from "@playwright/test";
import { startWindowHost } from "./support/window-host.ts";

const ROOT = resolve(import.meta.dirname, "../..");
const SAMPLES = join(ROOT, "samples");
/** A loaded machine takes a minute for what takes a second by itself. */
const PATIENCE = { timeout: 90_000 };
test.describe.configure({ mode: "serial", timeout: 300_000 });

let folder: string;
test.beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "halation-stop-"));
});
test.afterAll(() => rm(folder, { recursive: true, force: true }));

async function withWindow(page: Page, files: readonly string[], work: () => Promise<void>): Promise<void> {
  const host = await startWindowHost(files, undefined, folder);
  const complaints: string[] = [];
  page.on("pageerror", (error) => complaints.push(error.message));
  try {
    await page.goto(host.address);
    await work();
    expect(complaints).toEqual([]);
  } finally {
    // The page goes first, so that it doesn't complain of a host that is gone.
    await page.goto("about:blank");
    await host.stop();
  }
}

const answer = (page: Page) => page.locator(".stop-answer");
const marks = (page: Page, label: string) =>
  page.locator(".trend-chart", { has: page.locator("figcaption", { hasText: label }) }).locator(".trend-point");

test("a stop that drifts is seen to cover, to cover barely, and to leak, with the trend beside it", async ({
  page,
}) => {
  await withWindow(page, [join(SAMPLES, "drift.plan.json")], async () => {
    await page.getByRole("tab", { name: /Beam stop/ }).click(PATIENCE);
    await expect(answer(page)).toHaveAttribute("data-verdict", "covered", PATIENCE);
    await expect(answer(page)).toContainText("mm to spare");
    await expect(marks(page, "Total")).toHaveCount(6, PATIENCE);
    await expect(page.locator(".caution")).toContainText("not a protection system");
    await page.screenshot({ path: join(ROOT, "test-results/beam-stop-covered.png") });

    await page.getByRole("button", { name: "drift-4.h5", exact: true }).click();
    await expect(answer(page)).toHaveAttribute("data-verdict", "marginal", PATIENCE);
    await expect(page.locator('[data-part="margin-arrow"]').first()).toBeAttached();

    // The next run by an arrow key: leafing, not choosing from the list.
    const leaf = page.getByRole("slider", { name: "Run", exact: true });
    await expect(leaf).toHaveAttribute("aria-valuetext", "4 of 6");
    await leaf.focus();
    await page.keyboard.press("ArrowRight");
    await expect(leaf).toHaveAttribute("aria-valuetext", "5 of 6");
    await expect(answer(page)).toContainText("mm short", PATIENCE);
    await expect(answer(page)).toHaveAttribute("data-verdict", "leaking", PATIENCE);
    await expect(page.locator(".document-file")).toHaveText("drift-5.h5");
    await page.screenshot({ path: join(ROOT, "test-results/beam-stop-leaking.png") });

    // A second run beside it shows the same part of its frame, and the pixel that is pointed at.
    await page.keyboard.press("d");
    const [first, second] = [
      page.getByRole("group", { name: /Detector frame/ }),
      page.getByRole("group", { name: /Second/ }),
    ];
    await expect(second).toBeVisible(PATIENCE);
    for (const zoom of ["", "+"]) {
      if (zoom !== "") await first.press(zoom);
      const [a, b] = [await first.boundingBox(), await second.boundingBox()];
      if (a === null || b === null) throw new Error("two frames should be on the screen");
      const at = { x: a.width / 2 + 30, y: a.height / 2 - 20 };
      await page.mouse.move(a.x + at.x, a.y + at.y + 30);
      await page.mouse.move(a.x + at.x, a.y + at.y);
      const mark = second.locator('[data-part="pointer"] rect').first();
      // Within a pixel of the frame: the mark stands around the middle of one.
      const away = async () => {
        const box = await mark.boundingBox();
        return box === null ? 99 : Math.hypot(box.x + box.width / 2 - b.x - at.x, box.y + box.height / 2 - b.y - at.y);
      };
      await expect.poll(away, PATIENCE).toBeLessThan(5);
    }
    await expect(page.locator(".readout")).toContainText(/Beside\d+/);
    await page.screenshot({ path: join(ROOT, "test-results/second-frame.png") });
  });
});

test("a watched folder brings frame after frame, and a change of verdict is said", async ({ page }) => {
  const runs = join(folder, "tonight");
  await mkdir(runs);
  // As a network copy brings it: under another name until it is whole.
  const arrive = async (name: string) => {
    await copyFile(join(SAMPLES, name), join(runs, `.${name}.part`));
    await rename(join(runs, `.${name}.part`), join(runs, name));
  };
  await arrive("drift-1.h5");
  await withWindow(page, [join(SAMPLES, "drift.plan.json")], async () => {
    await page.getByRole("tab", { name: /Beam stop/ }).click(PATIENCE);
    await expect(answer(page)).toHaveAttribute("data-verdict", "covered", PATIENCE);
    await page.getByRole("button", { name: "Watch a folder" }).click();
    const name = page.getByRole("textbox", { name: /Folder to watch/ });
    await name.fill("../..");
    await name.press("Enter");
    await expect(page.getByText(/lies outside the folder/)).toBeVisible(PATIENCE);
    await name.fill("tonight");
    await name.press("Enter");
    await expect(page.getByText("Watching tonight")).toBeVisible(PATIENCE);
    await expect(marks(page, "Total")).toHaveCount(1, PATIENCE);

    await arrive("drift-4.h5");
    await expect(marks(page, "Total")).toHaveCount(2, PATIENCE);
    await expect(page.locator(".document-file")).toHaveText("drift-4.h5", PATIENCE);
    await expect(answer(page)).toHaveAttribute("data-verdict", "marginal", PATIENCE);
    await expect(page.getByRole("alert")).toContainText("covered before, marginal now");

    await arrive("drift-5.h5");
    await expect(answer(page)).toContainText("mm short", PATIENCE);
    await expect(marks(page, "Total")).toHaveCount(3);
    await expect(answer(page)).toHaveAttribute("data-verdict", "leaking", PATIENCE);
    await expect(page.getByRole("alert")).toContainText("marginal before, leaking now");
    await page.screenshot({ path: join(ROOT, "test-results/beam-stop-watch.png") });

    await page.getByRole("button", { name: "Stop watching" }).click();
    await arrive("drift-2.h5");
    await page.getByRole("button", { name: "Back to the plan's sample" }).click();
    await expect(page.locator(".document-file")).toHaveText("drift-1.h5", PATIENCE);
    await expect(marks(page, "Total")).toHaveCount(6, PATIENCE);
  });
});

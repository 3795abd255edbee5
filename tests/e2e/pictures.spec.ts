import { mkdir } from "node:fs/promises";
import { join } from "node:path";
import { expect, test } from "@playwright/test";
import { dropText, openNothing, PATIENCE, settled } from "./support/open-window.ts";
import { startWindowHost } from "./support/window-host.ts";

// Pictures for an eye to look at. With HALATION_PICTURES=1 the two that the project shows are taken anew.
const SHOWN = join(import.meta.dirname, "pictures");
const isRenewing = process.env["HALATION_PICTURES"] === "1";
const SIZES = [
  { width: 1280, height: 800 },
  { width: 1920, height: 1080 },
];
test.describe.configure({ mode: "serial", timeout: 600_000 });

test("the window, state by state: nothing is cut off sideways", async ({ page }, info) => {
  const host = await startWindowHost([]);
  await mkdir(SHOWN, { recursive: true });
  try {
    await page.goto(host.address);
    await settled(page);
    // Everything that follows a reduction has come, too.
    await page.waitForTimeout(6000);
    for (const size of SIZES)
      for (const colorScheme of ["dark", "light"] as const) {
        await page.setViewportSize(size);
        await page.emulateMedia({ colorScheme });
        const take = async (name: string) => {
          await page.waitForTimeout(700);
          const path = info.outputPath(`${name}-${colorScheme}-${size.width}.png`);
          await page.screenshot({ path });
          const overhang = await page.evaluate(() => {
            const { scrollWidth, clientWidth } = document.documentElement;
            return scrollWidth - clientWidth;
          });
          expect(overhang, `${name} at ${size.width}`).toBeLessThanOrEqual(0);
        };
        const steps = page.getByRole("region", { name: "First steps" });
        if (await steps.isVisible()) {
          await take("first-steps");
          await steps.getByRole("button", { name: "Close the first steps" }).click();
        }
        for (const [key, name] of [
          ["1", "beam-stop"],
          ["2", "anisotropy"],
          ["3", "curves"],
        ] as const) {
          await page.keyboard.press(key);
          await take(name);
        }
        if (isRenewing && size === SIZES[0]) await page.screenshot({ path: join(SHOWN, `window-${colorScheme}.png`) });
        await page.getByRole("tab", { name: "Plan", exact: true }).click();
        await take("plan");
        await page.getByRole("tab", { name: "Runs", exact: true }).click();
        await page.keyboard.press("Control+k");
        await take("commands");
        await page.keyboard.press("Escape");
      }
    await dropText(page, "shopping-list.txt", "bread, butter, neutrons");
    await expect(page.locator(".notice.fault")).toBeVisible(PATIENCE);
    await page.setViewportSize({ width: 1280, height: 800 });
    await page.screenshot({ path: info.outputPath("error.png") });
    // 200 % zoom of a window of 1280 x 800 leaves 640 x 400 CSS px.
    await page.setViewportSize({ width: 640, height: 400 });
    await page.waitForTimeout(700);
    await page.screenshot({ path: info.outputPath("zoomed.png") });
    // What doesn't fit is scrolled to.
    const curve = page.getByRole("region", { name: "Curve", exact: true });
    await curve.scrollIntoViewIfNeeded();
    await expect(curve).toBeInViewport();
    await page.screenshot({ path: info.outputPath("zoomed-scrolled.png") });
  } finally {
    await page.goto("about:blank");
    await host.stop();
  }
});

test("the empty window teaches", async ({ page }, info) => {
  const host = await startWindowHost([]);
  try {
    await openNothing(page);
    await page.goto(host.address);
    await expect(page.getByRole("heading", { name: "Open a detector frame" })).toBeVisible(PATIENCE);
    await page.screenshot({ path: info.outputPath("empty.png") });
  } finally {
    await page.goto("about:blank");
    await host.stop();
  }
});

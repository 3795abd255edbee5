import { expect, test } from "@playwright/test";
import { openViews } from "./support/views-page.ts";

test.describe("the lamp", () => {
  test("lights exactly the pixels of the point's bin", async ({ page }) => {
    await openViews(page, { lamp: { key: "radial", index: 40 }, rings: false });
    const wrong = await page.evaluate(() => {
      const { frame } = window.harness;
      let misses = 0;
      let lit = 0;
      // The picture's own pixels along a row through the centre: accent has no blue, cividis at half brightness has.
      for (let x = 0; x < 192; x++) {
        const at = frame().screenOf(x, 98);
        const [r, g, b] = frame().colourAt(at.x, at.y) ?? [];
        const looksLit = (r ?? 0) > 150 && (b ?? 255) < 12 && (g ?? 0) > 90;
        if (looksLit) lit++;
        if (looksLit !== window.harness.isLit(x, 98)) misses++;
      }
      return { misses, lit };
    });
    expect(wrong.misses).toBe(0);
    expect(wrong.lit).toBeGreaterThan(1);
  });

  test("is lit by the pointer on a curve and walks with the arrow keys", async ({ page }) => {
    await openViews(page);
    const box = (await page.locator(".curve-plot").boundingBox())!;
    const at = (await page.evaluate(() => window.harness.curve().screenOf({ key: "radial", index: 30 })))!;
    await page.mouse.move(box.x + at.x, box.y + at.y);
    await expect.poll(() => page.evaluate(() => window.harness.state().lamp)).toEqual({ key: "radial", index: 30 });
    await page.locator(".curve-plot").focus();
    await page.keyboard.press("ArrowRight");
    expect(await page.evaluate(() => window.harness.state().lamp)).toEqual({ key: "radial", index: 31 });
  });
});

test.describe("the curve", () => {
  test("shows other curves in the next animation frame, without React", async ({ page }) => {
    await openViews(page);
    const shown = await page.evaluate(async () => {
      const { show, screenOf } = window.harness.curve();
      const before = screenOf({ key: "radial", index: 30 });
      show(window.harness.curves().map((curve) => ({ ...curve, key: `${curve.key}-moved` })));
      await new Promise((next) => requestAnimationFrame(next));
      return {
        before,
        after: screenOf({ key: "radial", index: 30 }),
        moved: screenOf({ key: "radial-moved", index: 30 }),
      };
    });
    expect(shown.before).toBeDefined();
    expect(shown.after).toBeUndefined();
    expect(shown.moved).toEqual(shown.before);
  });

  test("a drag brushes a range of Q, its handles move its ends, a double click clears it", async ({ page }) => {
    await openViews(page);
    const box = (await page.locator(".curve-plot").boundingBox())!;
    const place = (index: number) =>
      page.evaluate((i) => window.harness.curve().screenOf({ key: "radial", index: i })!, index);
    const [from, to] = [await place(20), await place(50)];
    const middle = box.y + box.height / 2;
    await page.mouse.move(box.x + from.x, middle);
    await page.mouse.down();
    await page.mouse.move(box.x + to.x, middle, { steps: 6 });
    await page.mouse.up();
    const brushed = (await page.evaluate(() => window.harness.state().interval))!;
    const q = await page.evaluate(() => [window.harness.abscissa(20), window.harness.abscissa(50)] as const);
    // A column of the screen is 0.6 % of Q here.
    expect(Math.abs(brushed.low / q[0] - 1)).toBeLessThan(0.01);
    expect(Math.abs(brushed.high / q[1] - 1)).toBeLessThan(0.01);
    await page.getByRole("slider", { name: "Range to" }).first().focus();
    await page.keyboard.press("Shift+ArrowLeft");
    expect((await page.evaluate(() => window.harness.state().interval))!.high).toBeLessThan(brushed.high);
    await page.mouse.dblclick(box.x + from.x - 40, middle);
    await expect.poll(() => page.evaluate(() => window.harness.state().interval)).toBeUndefined();
  });
});

test("the range follows its handles and the automatic button", async ({ page }) => {
  await openViews(page);
  const low = page.locator(".range-control").getByRole("slider", { name: "Range from" });
  await low.focus();
  await page.keyboard.press("Shift+ArrowRight");
  expect((await page.evaluate(() => window.harness.state().display.range)).low).toBeGreaterThan(1);
  await page.getByRole("button", { name: "Automatic" }).click();
  const range = await page.evaluate(() => window.harness.state().display.range);
  // Background of 4 counts a pixel, 9004 at most in the middle, which the stop hides.
  expect(range.low).toBeLessThan(4);
  expect(range.high).toBeGreaterThan(500);
  expect(range.high).toBeLessThan(9500);
});

for (const [theme, width, height] of [
  ["dark", 1280, 800],
  ["light", 1280, 800],
  ["dark", 1920, 1080],
  ["light", 1920, 1080],
] as const) {
  test(`pictures of the views, ${theme}, ${width} x ${height}`, async ({ page }) => {
    await page.setViewportSize({ width, height });
    await openViews(page, {
      sectors: [{ id: "flow", centre_deg: 25, halfWidth_deg: 12, mirrored: true }],
      annuli: [{ id: "ring", qMin: 0.034, qMax: 0.042 }],
      shapes: [
        { kind: "rectangle", x: 20, y: 150, width: 24, height: 16 },
        { kind: "circle", x: 150, y: 40, r: 12 },
      ],
      selectedShape: 0,
      stop: true,
      interval: { low: 0.012, high: 0.03 },
    });
    await page.evaluate((name) => document.documentElement.setAttribute("data-theme", name), theme);
    await page.waitForTimeout(300);
    await page.screenshot({ path: `test-results/views/${theme}-${width}.png` });
  });
}

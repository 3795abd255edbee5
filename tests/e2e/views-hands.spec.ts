import { expect, test } from "@playwright/test";
import { frameBox, HEIGHT, openViews, SPOT, SPOT_DISPLAY, screenOf, set, WIDTH } from "./support/views-page.ts";

test.describe("hands on the frame", () => {
  test("zooming with the wheel keeps the point under the pointer", async ({ page }) => {
    await openViews(page);
    const box = await frameBox(page);
    const before = await screenOf(page, 140, 60);
    await page.mouse.move(box.x + before.x, box.y + before.y);
    await page.mouse.wheel(0, -300);
    await expect
      .poll(async () => (await screenOf(page, 141, 60)).x - (await screenOf(page, 140, 60)).x)
      .toBeGreaterThan(4);
    const after = await screenOf(page, 140, 60);
    expect(Math.hypot(after.x - before.x, after.y - before.y)).toBeLessThan(1);
    await page.mouse.dblclick(box.x + 20, box.y + 20);
    await expect.poll(async () => (await screenOf(page, 140, 60)).x).toBeCloseTo(before.x, 3);
  });

  test("a drag of the background moves the picture with the pointer", async ({ page }) => {
    await openViews(page);
    const box = await frameBox(page);
    const before = await screenOf(page, 20, 20);
    await page.mouse.move(box.x + before.x, box.y + before.y);
    await page.mouse.down();
    await page.mouse.move(box.x + before.x + 40, box.y + before.y - 25, { steps: 4 });
    await page.mouse.up();
    await expect.poll(async () => (await screenOf(page, 20, 20)).x).toBeCloseTo(before.x + 40, 3);
    expect((await screenOf(page, 20, 20)).y).toBeCloseTo(before.y - 25, 3);
  });

  test("the beam centre follows a drag, and ends where it is let go", async ({ page }) => {
    await openViews(page);
    const box = await frameBox(page);
    const from = await screenOf(page, 192 * 0.49, 192 * 0.51);
    const to = await screenOf(page, 110.25, 80.5);
    await page.mouse.move(box.x + from.x, box.y + from.y);
    await page.mouse.down();
    await page.mouse.move(box.x + to.x, box.y + to.y, { steps: 5 });
    await page.mouse.up();
    const log = (await page.evaluate(() => window.harness.log())) as { centre: [number, number]; phase: string }[];
    const last = log.at(-1)!;
    expect(last.phase).toBe("end");
    expect(last.centre[0]).toBeCloseTo(110.25, 1);
    expect(last.centre[1]).toBeCloseTo(80.5, 1);
    expect(log.filter(({ phase }) => phase === "end")).toHaveLength(1);
    expect(log.filter(({ phase }) => phase === "drag").length).toBeGreaterThan(0);
  });

  test("arrow keys move the beam centre as the arrows point, by 0.1 px and by 1 px with Shift", async ({ page }) => {
    await openViews(page, { centre: { x: 90, y: 100 } });
    await page.getByRole("slider", { name: "Beam centre" }).focus();
    await page.keyboard.press("ArrowRight");
    await page.keyboard.press("Shift+ArrowUp");
    const log = (await page.evaluate(() => window.harness.log())) as { centre: [number, number]; phase: string }[];
    // Bottom-up: a row further up has a larger y.
    expect(log.at(-1)).toEqual({ centre: [90.1, 101], phase: "end" });
    expect(log.filter(({ phase }) => phase === "end")).toHaveLength(2);
  });

  test("the readout tells the array's own value under the pointer", async ({ page }) => {
    await openViews(page, {
      scene: { width: WIDTH, height: HEIGHT, rowOrder: "top-down", transpose: true, spot: SPOT },
      display: SPOT_DISPLAY,
    });
    const box = await frameBox(page);
    const at = await screenOf(page, ...SPOT);
    await page.mouse.move(box.x + at.x, box.y + at.y);
    await expect(page.locator(".readout")).toContainText("1000000");
    await expect(page.locator(".readout-field").nth(0)).toContainText("3");
    await expect(page.locator(".readout-field").nth(1)).toContainText("17");
  });

  test("a sector is turned by its direction handle and widened by an edge", async ({ page }) => {
    await openViews(page, { sectors: [{ id: "flow", centre_deg: 0, halfWidth_deg: 15, mirrored: true }] });
    const box = await frameBox(page);
    const centre = await screenOf(page, 192 * 0.49, 192 * 0.51);
    const handle = page.getByRole("slider", { name: "Sector flow, direction" });
    const grip = (await handle.boundingBox())!;
    const reach = grip.x + grip.width / 2 - (box.x + centre.x);
    await page.mouse.move(grip.x + grip.width / 2, grip.y + grip.height / 2);
    await page.mouse.down();
    // Anticlockwise as displayed: up the screen is 90 degrees.
    await page.mouse.move(box.x + centre.x, box.y + centre.y - reach, { steps: 6 });
    await page.mouse.up();
    const log = (await page.evaluate(() => window.harness.log())) as {
      sector: { centre_deg: number; halfWidth_deg: number };
    }[];
    expect(log.at(-1)!.sector.centre_deg).toBeCloseTo(90, 0);
    await page.getByRole("slider", { name: "Sector flow, anticlockwise edge" }).focus();
    await page.keyboard.press("ArrowUp");
    const widened = (await page.evaluate(() => window.harness.log())) as { sector: { halfWidth_deg: number } }[];
    expect(widened.at(-1)!.sector.halfWidth_deg).toBe(16);
  });

  test("an annulus follows its outer handle", async ({ page }) => {
    await openViews(page, { annuli: [{ id: "ring", qMin: 0.02, qMax: 0.03 }] });
    const box = await frameBox(page);
    const grip = (await page.getByRole("slider", { name: "Annulus ring, outer edge" }).boundingBox())!;
    const centre = await screenOf(page, 192 * 0.49, 192 * 0.51);
    const [x, y] = [grip.x + grip.width / 2, grip.y + grip.height / 2];
    await page.mouse.move(x, y);
    await page.mouse.down();
    // A fifth further out; at these small angles Q grows with the distance to within a part in a thousand.
    await page.mouse.move(x + 0.2 * (x - box.x - centre.x), y + 0.2 * (y - box.y - centre.y), { steps: 4 });
    await page.mouse.up();
    const log = (await page.evaluate(() => window.harness.log())) as { annulus: { qMin: number; qMax: number } }[];
    expect(log.at(-1)!.annulus.qMax).toBeCloseTo(0.036, 4);
    expect(log.at(-1)!.annulus.qMin).toBe(0.02);
  });

  test("circle, rectangle, polygon and brush draw what the hand drew", async ({ page }) => {
    await openViews(page, { tool: "circle" });
    const box = await frameBox(page);
    const place = async (x: number, y: number): Promise<[x: number, y: number]> => {
      const at = await screenOf(page, x, y);
      return [box.x + at.x, box.y + at.y];
    };
    const stroke = async (points: readonly (readonly [number, number])[]): Promise<void> => {
      await page.mouse.move(...(await place(...points[0]!)));
      await page.mouse.down();
      for (const point of points.slice(1)) await page.mouse.move(...(await place(...point)), { steps: 5 });
      await page.mouse.up();
    };
    const added = async () =>
      ((await page.evaluate(() => window.harness.log())) as { added?: { kind: string; points?: unknown } }[])
        .filter((entry) => entry.added)
        .map(({ added: shape }) => shape!);
    await stroke([
      [40, 40],
      [50, 40],
    ]);
    expect((await added())[0]).toEqual({
      kind: "circle",
      x: expect.closeTo(40, 0),
      y: expect.closeTo(40, 0),
      r: expect.closeTo(10, 0),
    });
    await set(page, { tool: "rectangle" });
    await stroke([
      [99.5, 49.5],
      [109.5, 59.5],
    ]);
    expect((await added())[1]).toEqual({ kind: "rectangle", x: 100, y: 50, width: 10, height: 10 });
    await set(page, { tool: "polygon" });
    for (const corner of [
      [150, 150],
      [170, 150],
      [160, 170],
    ] as const)
      await page.mouse.click(...(await place(corner[0], corner[1])));
    await page.locator(".frame-stage").focus();
    await page.keyboard.press("Enter");
    expect((await added())[2]!.points).toHaveLength(3);
    await set(page, { tool: "brush" });
    await stroke([
      [20, 150],
      [40, 150],
    ]);
    expect((await added())[3]!.kind).toBe("polygon");
    await set(page, { tool: "select" });
    await page.mouse.click(...(await place(104, 54)));
    await page.getByRole("slider", { name: /^Mask: rectangle/ }).focus();
    await page.keyboard.press("Delete");
    const log = (await page.evaluate(() => window.harness.log())) as unknown[];
    expect(log.at(-1)).toEqual({ deleted: 1 });
  });
});

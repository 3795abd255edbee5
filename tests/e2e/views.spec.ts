import { expect, type Page, test } from "@playwright/test";
import type { HarnessHandle, HarnessState } from "./harness/harness.tsx";
import { countDrawing, drawingDuring } from "./support/drawing-counts.ts";

declare global {
  interface Window {
    readonly harness: HarnessHandle;
  }
}

const ADDRESS = "http://127.0.0.1:4179";

async function openViews(page: Page, change: Partial<HarnessState> = {}): Promise<void> {
  const complaints: string[] = [];
  page.on("pageerror", (error) => complaints.push(error.message));
  page.on("console", (message) => {
    if (message.type() === "error") complaints.push(message.text());
  });
  await page.goto(ADDRESS);
  await page.waitForFunction(() => window.harness?.frame()?.surface() !== undefined);
  await set(page, change);
  expect(complaints).toEqual([]);
}

/** Changes the page's state and waits until it is on the screen. */
async function set(page: Page, change: Partial<HarnessState>): Promise<void> {
  await page.evaluate(async (wanted) => {
    window.harness.set(wanted);
    for (let i = 0; i < 3; i++) await new Promise((next) => requestAnimationFrame(next));
  }, change);
}

function colourAt(page: Page, x: number, y: number): Promise<readonly number[]> {
  return page.evaluate(([px, py]) => window.harness.frame().colourAt(px, py) ?? [], [x, y] as const);
}

function screenOf(page: Page, x: number, y: number): Promise<{ x: number; y: number }> {
  return page.evaluate(([px, py]) => window.harness.frame().screenOf(px, py), [x, y] as const);
}

async function frameBox(page: Page) {
  const box = await page.locator(".frame-stage").boundingBox();
  if (!box) throw new Error("the frame is not on the page");
  return box;
}

const KEPT = { maskStyle: "hatched", seenFromSample: false } as const;
const SPOT = [3, 17] as const;
const [WIDTH, HEIGHT] = [33, 21] as const;
const SPOT_DISPLAY = {
  scale: "linear",
  palette: "grey",
  range: { low: 0, high: 1000 },
  maskStyle: "hatched",
  seenFromSample: false,
} as const;

test.describe("one bright pixel", () => {
  // Where it must stand, worked out by hand: columns from the left, rows from the top, of the picture.
  const cases = [
    {
      rowOrder: "bottom-up",
      transpose: false,
      mirror: false,
      column: 3,
      row: HEIGHT - 1 - 17,
      across: WIDTH,
      up: HEIGHT,
    },
    { rowOrder: "top-down", transpose: false, mirror: false, column: 3, row: 17, across: WIDTH, up: HEIGHT },
    {
      rowOrder: "bottom-up",
      transpose: true,
      mirror: false,
      column: 17,
      row: WIDTH - 1 - 3,
      across: HEIGHT,
      up: WIDTH,
    },
    { rowOrder: "top-down", transpose: true, mirror: false, column: 17, row: 3, across: HEIGHT, up: WIDTH },
    {
      rowOrder: "bottom-up",
      transpose: false,
      mirror: true,
      column: WIDTH - 1 - 3,
      row: HEIGHT - 1 - 17,
      across: WIDTH,
      up: HEIGHT,
    },
  ] as const;
  for (const { rowOrder, transpose, mirror, column, row, across, up } of cases) {
    test(`stands in its place: ${rowOrder}, transpose ${transpose}, mirror ${mirror}`, async ({ page }) => {
      await openViews(page, {
        scene: { width: WIDTH, height: HEIGHT, rowOrder, transpose, spot: SPOT },
        display: { ...SPOT_DISPLAY, seenFromSample: mirror },
      });
      const box = await frameBox(page);
      const scale = 0.97 * Math.min(box.width / across, box.height / up);
      const at = {
        x: box.width / 2 + (column + 0.5 - across / 2) * scale,
        y: box.height / 2 + (row + 0.5 - up / 2) * scale,
      };
      const white = [255, 255, 255, 255];
      const dark = [16, 16, 16, 255];
      // The grid is 33 wide, so that rows of mask bytes are no multiple of four; all of the pixel is lit, none beside it.
      const inside = 0.45 * scale;
      for (const [dx, dy] of [
        [0, 0],
        [inside, inside],
        [-inside, inside],
        [inside, -inside],
        [-inside, -inside],
      ] as const)
        expect(await colourAt(page, at.x + dx, at.y + dy)).toEqual(white);
      for (const [dx, dy] of [
        [scale, 0],
        [-scale, 0],
        [0, scale],
        [0, -scale],
      ] as const)
        expect(await colourAt(page, at.x + dx, at.y + dy)).toEqual(dark);
      expect(await screenOf(page, ...SPOT)).toEqual({ x: expect.closeTo(at.x, 6), y: expect.closeTo(at.y, 6) });
    });
  }

  test("stays in sight when the frame is shown at less than half size", async ({ page }) => {
    await openViews(page, {
      scene: { width: 2048, height: 2048, rowOrder: "bottom-up", transpose: false, spot: [1001, 777] },
      display: SPOT_DISPLAY,
    });
    const at = await screenOf(page, 1001, 777);
    const brightest = await page.evaluate(({ x, y }) => {
      let best = 0;
      for (let dy = -3; dy <= 3; dy++)
        for (let dx = -3; dx <= 3; dx++)
          best = Math.max(best, window.harness.frame().colourAt(x + dx, y + dy)?.[0] ?? 0);
      return best;
    }, at);
    expect(brightest).toBe(255);
  });

  test("is lighter on a log scale than on a linear one, and lightest at the top of the range", async ({ page }) => {
    const scene = { width: WIDTH, height: HEIGHT, rowOrder: "bottom-up", transpose: false, spot: SPOT } as const;
    await openViews(page, { scene, display: { ...SPOT_DISPLAY, range: { low: 1, high: 1e8 } } });
    const at = await screenOf(page, ...SPOT);
    // A million of a hundred millions: 1 % linear, 6/8 in decades, 10 % by square root.
    const grey = (t: number): number => Math.round(16 + (Math.round(t * 255) / 255) * 239);
    expect((await colourAt(page, at.x, at.y))[0]).toBe(grey(0.01));
    await set(page, { display: { ...SPOT_DISPLAY, scale: "log", range: { low: 1, high: 1e8 } } });
    expect((await colourAt(page, at.x, at.y))[0]).toBe(grey(0.75));
    await set(page, { display: { ...SPOT_DISPLAY, scale: "square-root", range: { low: 0, high: 1e8 } } });
    expect((await colourAt(page, at.x, at.y))[0]).toBe(grey(0.1));
  });

  test("is veiled where it is masked, and shown as it is with the mask off", async ({ page }) => {
    const scene = { width: WIDTH, height: HEIGHT, rowOrder: "bottom-up", transpose: false, spot: SPOT } as const;
    await openViews(page, { scene, display: { ...SPOT_DISPLAY, maskStyle: "tinted" }, masked: SPOT });
    const at = await screenOf(page, ...SPOT);
    // 0.72 of the ground (20, 22, 26) over white, then 0.35 of the hatch (155, 163, 174).
    const tinted = [20, 22, 26].map((ground, i) => {
      const veiled = 255 + 0.72 * (ground - 255);
      return veiled + 0.35 * ([155, 163, 174][i]! - veiled);
    });
    const seen = await colourAt(page, at.x, at.y);
    for (const [i, level] of tinted.entries()) expect(Math.abs(seen[i]! - level)).toBeLessThanOrEqual(1);
    await set(page, { display: { ...SPOT_DISPLAY, maskStyle: "off" } });
    expect(await colourAt(page, at.x, at.y)).toEqual([255, 255, 255, 255]);
  });
});

test("the counts go to the graphics once: range, scale, palette, view and centre touch only uniforms", async ({
  page,
}) => {
  await countDrawing(page);
  await openViews(page);
  const display = { scale: "log", palette: "viridis", range: { low: 1, high: 5000 }, ...KEPT } as const;
  // A palette's strip of 256 colours comes with its first use and stays.
  await set(page, { display });
  const changes: Partial<HarnessState>[] = [
    { display: { ...display, range: { low: 3, high: 700 } } },
    { display: { ...display, scale: "linear" } },
    { display: { ...display, scale: "square-root" } },
    { display: { ...display, palette: "cividis" } },
    { display: { ...display, maskStyle: "tinted" } },
    { centre: { x: 90.5, y: 99.25 } },
  ];
  for (const change of changes) {
    const { uploads } = await drawingDuring(page, () => set(page, change));
    expect(uploads, JSON.stringify(change)).toBe(0);
  }
  const zoomed = await drawingDuring(page, () =>
    page.evaluate(() => {
      window.harness.frame().zoomBy(1.5);
    }),
  );
  expect(zoomed.draws).toBeGreaterThan(0);
  expect(zoomed.uploads).toBe(0);
});

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

test("without WebGL the picture is the same, drawn on a 2D canvas", async ({ page }) => {
  await page.addInitScript(() => {
    const original = HTMLCanvasElement.prototype.getContext;
    HTMLCanvasElement.prototype.getContext = function (this: HTMLCanvasElement, kind: string, ...rest: unknown[]) {
      return kind.startsWith("webgl") ? null : Reflect.apply(original, this, [kind, ...rest]);
    } as typeof original;
  });
  const scene = { width: WIDTH, height: HEIGHT, rowOrder: "bottom-up", transpose: false, spot: SPOT } as const;
  await openViews(page, { scene, display: SPOT_DISPLAY });
  expect(await page.evaluate(() => window.harness.frame().surface())).toBe("canvas");
  const at = await screenOf(page, ...SPOT);
  expect(await colourAt(page, at.x, at.y)).toEqual([255, 255, 255, 255]);
  const beside = await screenOf(page, SPOT[0] + 1, SPOT[1]);
  expect(await colourAt(page, beside.x, beside.y)).toEqual([16, 16, 16, 255]);
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

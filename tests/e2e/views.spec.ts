import { expect, test } from "@playwright/test";
import type { HarnessState } from "./harness/harness.tsx";
import { countDrawing, drawingDuring } from "./support/drawing-counts.ts";
import {
  colourAt,
  frameBox,
  HEIGHT,
  openViews,
  SPOT,
  SPOT_DISPLAY,
  screenOf,
  set,
  WIDTH,
} from "./support/views-page.ts";

const KEPT = { maskStyle: "hatched", seenFromSample: false } as const;

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

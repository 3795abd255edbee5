import type { Page } from "@playwright/test";

/** How often the page has asked its graphics for something since `startCounting`. */
export interface DrawingCounts {
  /** Bytes handed to textures, or textures made. */
  readonly uploads: number;
  readonly draws: number;
}

declare global {
  interface Window {
    drawingCounts: { uploads: number; draws: number };
  }
}

/** Counts the calls of WebGL 2 from before the page's first script on. */
export async function countDrawing(page: Page): Promise<void> {
  await page.addInitScript(() => {
    window.drawingCounts = { uploads: 0, draws: 0 };
    const gl = WebGL2RenderingContext.prototype as unknown as Record<string, (...values: unknown[]) => unknown>;
    const counted = (what: keyof Window["drawingCounts"], names: readonly string[]) => {
      for (const name of names) {
        const original = gl[name];
        if (original === undefined) throw new Error(`WebGL 2 has no ${name}`);
        gl[name] = function (this: unknown, ...values: unknown[]) {
          window.drawingCounts[what]++;
          return original.apply(this, values);
        };
      }
    };
    counted("uploads", ["texImage2D", "texSubImage2D", "texStorage2D", "copyTexImage2D", "copyTexSubImage2D"]);
    counted("draws", ["drawArrays", "drawElements", "drawArraysInstanced", "drawElementsInstanced"]);
  });
}

/** What `work` and the animation frames after it have asked for. */
export async function drawingDuring(page: Page, work: () => Promise<void>): Promise<DrawingCounts> {
  await twoFrames(page);
  await page.evaluate(() => {
    window.drawingCounts = { uploads: 0, draws: 0 };
  });
  await work();
  await twoFrames(page);
  return page.evaluate(() => window.drawingCounts);
}

function twoFrames(page: Page): Promise<void> {
  return page.evaluate(async () => {
    for (let i = 0; i < 2; i++) await new Promise((next) => requestAnimationFrame(next));
  });
}

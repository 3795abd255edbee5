import { expect, type Page } from "@playwright/test";
import { HARNESS_ADDRESS } from "../harness/address.ts";
import type { HarnessHandle, HarnessState } from "../harness/harness.tsx";

// The page that shows the two views alone, with a made-up frame, and the hands that tests need on it.

declare global {
  interface Window {
    readonly harness: HarnessHandle;
  }
}

export async function openViews(page: Page, change: Partial<HarnessState> = {}): Promise<void> {
  const complaints: string[] = [];
  page.on("pageerror", (error) => complaints.push(error.message));
  page.on("console", (message) => {
    if (message.type() === "error") complaints.push(message.text());
  });
  await page.goto(HARNESS_ADDRESS);
  await page.waitForFunction(() => window.harness?.frame()?.surface() !== undefined);
  await set(page, change);
  expect(complaints).toEqual([]);
}

/** Changes the page's state and waits until it is on the screen. */
export async function set(page: Page, change: Partial<HarnessState>): Promise<void> {
  await page.evaluate(async (wanted) => {
    window.harness.set(wanted);
    for (let i = 0; i < 3; i++) await new Promise((next) => requestAnimationFrame(next));
  }, change);
}

export function colourAt(page: Page, x: number, y: number): Promise<readonly number[]> {
  return page.evaluate(([px, py]) => window.harness.frame().colourAt(px, py) ?? [], [x, y] as const);
}

export function screenOf(page: Page, x: number, y: number): Promise<{ x: number; y: number }> {
  return page.evaluate(([px, py]) => window.harness.frame().screenOf(px, py), [x, y] as const);
}

export async function frameBox(page: Page) {
  const box = await page.locator(".frame-stage").boundingBox();
  if (!box) throw new Error("the frame is not on the page");
  return box;
}

/** A small frame with one bright pixel, off every line of symmetry. */
export const SPOT = [3, 17] as const;
export const [WIDTH, HEIGHT] = [33, 21] as const;
export const SPOT_DISPLAY = {
  scale: "linear",
  palette: "grey",
  range: { low: 0, high: 1000 },
  maskStyle: "hatched",
  seenFromSample: false,
} as const;

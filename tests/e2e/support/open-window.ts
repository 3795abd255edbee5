import { expect, type Page } from "@playwright/test";
import { encodeFrame } from "../../../core/host-frame.ts";

/** A loaded machine draws a few pictures a second: what takes a second by itself may take a minute there. */
export const PATIENCE = { timeout: 120_000 };

/** Reduced, and nothing under way. */
export async function settled(page: Page): Promise<void> {
  await expect(page.locator(".ledger-count")).toBeVisible(PATIENCE);
  await expect(page.locator(".working-bar")).toHaveCount(0, PATIENCE);
}

/** As where the sample experiment is not installed and nothing was opened: the window has no document. */
export async function openNothing(page: Page): Promise<void> {
  await page.route("**/api/launchRequest", (route) =>
    route.fulfill({
      contentType: "application/x-halation-frame",
      body: Buffer.from(encodeFrame({ ok: true, value: { files: [], isSampleExperiment: false } })),
    }),
  );
}

/** What a person does with the mouse from the desktop, which no browser lets a test do. */
export async function dropText(page: Page, name: string, text: string): Promise<void> {
  await page.evaluate(
    ([fileName, content]) => {
      const dataTransfer = new DataTransfer();
      dataTransfer.items.add(new File([content], fileName));
      document
        .querySelector(".window")
        ?.dispatchEvent(new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer }));
    },
    [name, text] as const,
  );
}

import AxeBuilder from "@axe-core/playwright";
import { expect, type Page, test } from "@playwright/test";
import { dropText, openNothing, PATIENCE, settled } from "./support/open-window.ts";
import { startWindowHost, type WindowHost } from "./support/window-host.ts";

// The rules of WCAG 2.2, levels A and AA (W3C Recommendation of 12 December 2024), as axe-core tests them.
const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];
test.describe.configure({ mode: "serial", timeout: 400_000 });

let host: WindowHost;
test.beforeEach(async ({ page }) => {
  host = await startWindowHost([]);
  await page.emulateMedia({ reducedMotion: "reduce" });
});
test.afterEach(async ({ page }) => {
  await page.goto("about:blank");
  await host.stop();
});

/** Every serious or critical finding, as the rule and the elements that break it. */
async function findings(page: Page): Promise<readonly string[]> {
  const { violations } = await new AxeBuilder({ page }).withTags(RULES).analyze();
  return violations
    .filter(({ impact }) => impact === "serious" || impact === "critical")
    .flatMap(({ id, nodes }) => nodes.map(({ html, failureSummary }) => `${id}: ${html} (${failureSummary})`));
}

test("nothing serious stands in a reader's way, whatever is shown", async ({ page }) => {
  await page.goto(host.address);
  await settled(page);
  await test.step("the first steps lead through the questions on what was found, until they are closed", async () => {
    const guide = page.getByRole("region", { name: "First steps" });
    await expect(guide).toContainText("1 of 5");
    await expect(guide).toContainText(/spheres\.h5, 192 × 192 pixels, became the \d+ points of radial/);
    expect.soft(await findings(page), "first steps").toEqual([]);
    const next = guide.getByRole("button", { name: /^Next/ });
    await next.focus();
    for (const question of ["Beam stop", "Anisotropy", "Curves"]) {
      await page.keyboard.press("Enter");
      const tab = page.getByRole("tab", { selected: true, name: new RegExp(`^${question}`) });
      const found = (await tab.locator(".question-verdict > span").textContent()) ?? "";
      expect(found).toMatch(/\d/);
      await expect(guide.locator(".guide-answer")).toContainText(found, PATIENCE);
    }
    await page.keyboard.press("Enter");
    await expect(guide.getByRole("button", { name: /^Open a file/ })).toBeVisible();
    await guide.getByRole("button", { name: "Done" }).press("Enter");
    await expect(guide).toHaveCount(0);
    await expect(page.getByRole("tab", { selected: true, name: /^Curves/ })).toBeFocused();
  });
  for (const scheme of ["dark", "light"] as const) {
    await page.emulateMedia({ colorScheme: scheme });
    for (const question of ["1", "2", "3"]) {
      await page.keyboard.press(question);
      await page.waitForTimeout(500);
      expect.soft(await findings(page), `${scheme}, question ${question}`).toEqual([]);
    }
  }
  await page.getByRole("tab", { name: "Plan", exact: true }).click();
  expect.soft(await findings(page), "plan").toEqual([]);
  await page.keyboard.press("s");
  const reach = page.getByRole("dialog", { name: "Camera reach" });
  await expect(reach.getByRole("img", { name: /Setting 1: Q from/ })).toBeVisible(PATIENCE);
  expect.soft(await findings(page), "camera reach").toEqual([]);
  // Twice the distance, typed in another unit, sees sizes twice as large.
  await reach.getByRole("button", { name: "One more setting like 1" }).click();
  await reach.getByRole("textbox", { name: "Distance of setting 2, m" }).fill("800 cm");
  await page.keyboard.press("Enter");
  await expect(reach.getByRole("row", { name: /^2/ })).toContainText("191");
  await expect(reach.getByText(/Settings 2 and 1 overlap/)).toBeVisible();
  await page.keyboard.press("Escape");
  await page.keyboard.press("Control+k");
  await expect(page.getByRole("combobox").or(page.getByRole("dialog")).first()).toBeVisible(PATIENCE);
  expect.soft(await findings(page), "command list").toEqual([]);
  await page.keyboard.type("keys");
  await page.keyboard.press("Enter");
  await expect(page.getByRole("dialog", { name: "Keys", exact: true })).toBeVisible(PATIENCE);
  expect.soft(await findings(page), "keys").toEqual([]);
  await page.keyboard.press("Escape");
  await dropText(page, "shopping-list.txt", "bread, butter, neutrons");
  await expect(page.locator(".notice.fault")).toBeVisible(PATIENCE);
  await expect(page.locator(".notice.fault")).toContainText("frames are read from HDF5");
  expect.soft(await findings(page), "an error").toEqual([]);
  // Counts without any numbers of the camera are shown as they are, and nothing that was found on another run stays.
  await dropText(page, "bare.txt", Array.from({ length: 8 }, () => "1 2 3 4 5 6 7 8").join("\n"));
  await expect(page.getByRole("tab", { name: /No answer yet/ })).toHaveCount(3, PATIENCE);
  await expect(page.getByRole("heading", { level: 1 })).toHaveText("bare.txt");
});

test("nothing serious stands in a reader's way in the empty window", async ({ page }) => {
  await openNothing(page);
  await page.goto(host.address);
  await expect(page.getByRole("heading", { name: "Open a detector frame" })).toBeVisible(PATIENCE);
  expect(await findings(page)).toEqual([]);
});

test("the centre is moved, a step undone and a question changed by keys alone", async ({ page }) => {
  await page.goto(host.address);
  await settled(page);
  const centre = page.getByRole("slider", { name: "Beam centre" });
  for (let presses = 0; presses < 80; presses++) {
    await page.keyboard.press("Tab");
    if (await centre.evaluate((element) => element === document.activeElement)) break;
  }
  await expect(centre).toBeFocused();
  await page.keyboard.press("ArrowRight");
  const undo = page.getByRole("button", { name: "Undo", exact: true });
  await expect(undo).not.toHaveAttribute("aria-disabled", "true", PATIENCE);
  await page.keyboard.press("Control+z");
  await expect(undo).toHaveAttribute("aria-disabled", "true", PATIENCE);
  await page.keyboard.press("2");
  await expect(page.getByRole("tab", { selected: true, name: /Anisotropy/ })).toBeVisible(PATIENCE);
  // The command list takes the keys, runs what is chosen, and gives the focus back.
  await page.keyboard.press("Control+k");
  await page.keyboard.type("question: curves");
  await page.keyboard.press("Enter");
  await expect(page.getByRole("tab", { selected: true, name: /Curves/ })).toBeVisible(PATIENCE);
});

test("with reduced motion nothing moves by itself", async ({ page }) => {
  await page.goto(host.address);
  await settled(page);
  const moving = await page.evaluate(() =>
    [...document.querySelectorAll("*")].flatMap((element) => {
      const { transitionDuration, animationName } = getComputedStyle(element);
      const still = transitionDuration.split(",").every((time) => Number.parseFloat(time) < 0.01);
      return still && animationName === "none" ? [] : [element.className.toString()];
    }),
  );
  expect(moving).toEqual([]);
});

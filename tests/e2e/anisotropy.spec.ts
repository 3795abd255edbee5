import { cp, mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { expect, type Page, test } from "@playwright/test";
import { startWindowHost } from "./support/window-host.ts";

const ROOT = resolve(import.meta.dirname, "../..");
/** A loaded machine draws a few pictures a second: what takes a second by itself may take a minute there. */
const PATIENCE = { timeout: 90_000 };
test.describe.configure({ mode: "serial", timeout: 400_000 });

let folder: string;

test.beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "halation-anisotropy-"));
  await cp(join(ROOT, "samples"), folder, { recursive: true });
  const plan = JSON.parse(await readFile(join(folder, "rods.plan.json"), "utf8"));
  plan.runs.sample = ["rods-shear-300.h5", "rods-rest.h5"];
  await writeFile(join(folder, "series.plan.json"), JSON.stringify(plan));
});

test.afterAll(async () => {
  await rm(folder, { recursive: true, force: true });
});

async function pick(page: Page, label: string, option: string): Promise<void> {
  await page.getByRole("combobox", { name: label }).click();
  await page.getByRole("option", { name: option, exact: true }).click();
}

test("the sheared rods are anisotropic along the axis that they were simulated with", async ({ page }, info) => {
  const host = await startWindowHost([join(folder, "series.plan.json")]);
  const complaints: string[] = [];
  page.on("pageerror", (error) => complaints.push(error.message));
  page.on("console", (message) => {
    if (message.type() === "error") complaints.push(message.text());
  });
  const shot = (name: string) => page.screenshot({ path: info.outputPath(`${name}.png`) });
  try {
    await page.emulateMedia({ colorScheme: "dark" });
    await page.goto(host.address);
    await expect(page.locator(".ledger-count")).toBeVisible(PATIENCE);
    await page.getByRole("tab", { name: "Anisotropy" }).click();

    await test.step("the verdict names axis and alignment, and the axis lies on the frame", async () => {
      const verdict = page.getByRole("tab", { name: "Anisotropy" });
      await expect(verdict).toContainText("Anisotropic along", PATIENCE);
      // The rods' director is at 8 degrees: they scatter strongest across it, at 98.
      const axis = Number(/along ([\d.]+) ±/.exec((await verdict.textContent()) ?? "")?.[1]);
      expect(Math.abs(axis - 98)).toBeLessThan(3);
      await expect(page.locator(".axis-overlay text")).toContainText("axis 98");
      await expect(page.getByText("even harmonics")).toBeVisible();
      await shot("profile");
    });

    await test.step("spectrum, sectors and measures", async () => {
      await pick(page, "What is shown of the anisotropy", "Against Q");
      await expect(page.getByRole("img", { name: "Alignment factor against Q (1/Å)" })).toBeVisible(PATIENCE);
      await expect(page.locator(".measure-point").first()).toBeVisible();
      await shot("spectrum");
      await pick(page, "What is shown of the anisotropy", "Along and across");
      await expect(page.getByText("along the axis")).toBeVisible();
      const cost = page.locator(".sector-cost");
      await expect(cost).toContainText("About the axis at 98");
      await page.getByRole("textbox", { name: "Half-width of the sectors" }).fill("30");
      await page.getByRole("textbox", { name: "Direction of the magnetic field" }).fill("45");
      await page.keyboard.press("Enter");
      await expect(cost).toContainText(
        /About the field at 45°: \d+ % of the counts, 83 % of the difference kept/,
        PATIENCE,
      );
      await shot("sectors");
      await page.getByRole("textbox", { name: "Direction of the magnetic field" }).fill("");
      await page.keyboard.press("Enter");
      await pick(page, "What is shown of the anisotropy", "All measures");
      await expect(page.getByRole("row", { name: /^P2 of thin rods/ })).toBeVisible();
      await shot("measures");
    });

    await test.step("the residual frame, also by daylight", async () => {
      await pick(page, "What the frame shows", "Residual");
      // Counts have a scale to choose, a residual has not.
      await expect(page.getByRole("combobox", { name: "Scale of the counts" })).toHaveCount(0, PATIENCE);
      await shot("residual-dark");
      await page.emulateMedia({ colorScheme: "light" });
      await shot("residual-light");
    });

    await test.step("the series has a row for each sample", async () => {
      await pick(page, "What is shown of the anisotropy", "Through the series");
      await expect(page.getByRole("row", { name: /rods-shear-300/ })).toBeVisible(PATIENCE);
      await expect(page.getByRole("row", { name: /rods-rest/ })).toBeVisible();
      // A name without a number leaves its value to be typed.
      await pick(page, "Values of the series", "Number in the file name");
      await page.getByRole("textbox", { name: "Number in the file name of rods-rest.h5" }).fill("0");
      await page.getByRole("textbox", { name: "What the values are" }).fill("Shear rate (1/s)");
      await page.keyboard.press("Enter");
      await expect(page.getByRole("textbox", { name: "Shear rate (1/s) of rods-shear-300.h5" })).toHaveValue("300");
      await expect(page.getByRole("columnheader", { name: "P2" })).toBeVisible();
      await expect(page.getByRole("img", { name: "Axis (°) against Shear rate (1/s)" })).toBeVisible();
      await shot("series-light");
    });
    expect(complaints).toEqual([]);
  } finally {
    await page.goto("about:blank");
    await host.stop();
  }
});

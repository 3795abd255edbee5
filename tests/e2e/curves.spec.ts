import { cp, mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { expect, type Page, test } from "@playwright/test";
import { sphereIntensity } from "../../core/curves/sphere.ts";
import { dropText } from "./support/open-window.ts";
import { startWindowHost } from "./support/window-host.ts";

const ROOT = resolve(import.meta.dirname, "../..");
const PATIENCE = { timeout: 90_000 };
test.describe.configure({ mode: "serial", timeout: 300_000 });

/** Picks an option of one of the lists of the strip. */
async function pick(page: Page, label: string, option: string): Promise<void> {
  await page.locator(".curves-strip").getByRole("combobox", { name: label, exact: true }).click();
  await page.getByRole("option", { name: option, exact: true }).click();
}

test("a reference beside the own curve: scaled, merged, saved; a fit over a brushed range; a model", async ({
  page,
}) => {
  const folder = await mkdtemp(join(tmpdir(), "halation-curves-"));
  await cp(join(ROOT, "samples"), folder, { recursive: true });
  // The analytic curve of the sample's spheres, three times too high.
  const model = { radius: 60, sigmaLnR: 0.12, volumeFraction: 0.01, contrast: 2.89e-6 };
  const rows = Array.from({ length: 80 }, (_, i) => {
    const q = 0.006 * Math.exp((i / 79) * Math.log(0.2 / 0.006));
    const intensity = 3 * sphereIntensity(q, model);
    return `${q},${intensity},${0.01 * intensity + 1e-5}`;
  });
  const reference = join(folder, "reference.csv");
  await writeFile(reference, `Q,I,dI\n${rows.join("\n")}\n`);
  const host = await startWindowHost([join(folder, "spheres.plan.json")]);
  const complaints: string[] = [];
  page.on("pageerror", (error) => complaints.push(error.message));
  try {
    await page.setViewportSize({ width: 1280, height: 800 });
    await page.goto(host.address);
    await expect(page.locator(".ledger-count")).toBeVisible(PATIENCE);
    // Dropped while another question is on show: its content says that it is a curve, and no frame.
    await page.keyboard.press("1");
    const strip = page.locator(".curves-strip");
    await dropText(page, "reference.csv", await readFile(reference, "utf8"));
    await expect(strip.locator(".curves-row-name")).toHaveText(["reference.csv"], PATIENCE);
    // The session has its place and, since no browser finds a dropped file again, its bytes.
    const kept = async () => {
      const file: { session: string } = JSON.parse(await readFile(join(host.data, "session.json"), "utf8"));
      return JSON.parse(file.session).document;
    };
    await expect
      .poll(async () => (await kept()).beside, PATIENCE)
      .toMatchObject([{ label: "reference.csv", colour: 0 }]);
    const base64 = (await readFile(reference)).toString("base64");
    expect((await kept()).files["beside/reference.csv"].origin).toEqual({ kind: "inline", base64 });

    const part = strip.getByRole("region", { name: "Curves together" });
    const words = part.getByRole("status");
    await pick(page, "What is done", "Scale");
    await part.getByRole("button", { name: "Scale", exact: true }).click();
    await expect(words).toContainText("brought onto", PATIENCE);
    const factor = Number(/Scale([\d.]+)/.exec((await words.textContent()) ?? "")?.[1]);
    expect(Math.abs(3 * factor - 1)).toBeLessThan(0.02);

    // Less a third of the reference hardly anything is left; its sigma is told.
    await pick(page, "What is done", "Subtract");
    await part.getByLabel("Factor").fill("0.3333");
    await part.getByLabel("Factor").press("Enter");
    await part.getByRole("button", { name: "Subtract", exact: true }).click();
    await expect(words).toContainText(/radial − 0\.3333 × reference\.csv: \d+ points, σ/, PATIENCE);

    await pick(page, "What is done", "Rebin");
    await part.getByLabel("Bins", { exact: true }).fill("12");
    await part.getByLabel("Bins", { exact: true }).press("Enter");
    await part.getByRole("button", { name: "Rebin", exact: true }).click();
    await expect(words).toContainText(/12 points of \d+/, PATIENCE);

    await pick(page, "What is done", "Merge");
    await pick(page, "What is fitted", "Scale and constant");
    await part.getByRole("button", { name: "Merge", exact: true }).click();
    await expect(words).toContainText("joined", PATIENCE);
    for (const fact of ["Scale", "Constant", "Reduced χ²", "Shared points"]) await expect(words).toContainText(fact);
    await strip.getByRole("button", { name: "Save it" }).click();
    // Files take their names when they are whole.
    const whole = async () => (await readdir(host.exports).catch(() => [])).filter((name) => name.endsWith(".csv"));
    await expect.poll(whole, PATIENCE).toEqual([expect.stringMatching(/merged\.csv$/)]);
    const [saved = ""] = await whole();
    const lines = (await readFile(join(host.exports, saved), "utf8")).trim().split("\n");
    expect(lines[0]).toBe("Q,I,dI,dQ,pixels,counts");
    expect(lines.length).toBeGreaterThan(180);

    await pick(page, "Law", "Guinier");
    const look = strip.getByRole("region", { name: "Fit a law" });
    await expect(look.locator(".curves-facts, .warning-line").first()).toBeVisible(PATIENCE);
    const plot = page.locator(".curve-plot").first();
    const box = (await plot.boundingBox())!;
    await page.mouse.move(box.x + 0.16 * box.width, box.y + 0.5 * box.height);
    await page.mouse.down();
    await page.mouse.move(box.x + 0.3 * box.width, box.y + 0.5 * box.height, { steps: 4 });
    await page.mouse.up();
    await expect(strip.locator(".residual-chart")).toBeVisible(PATIENCE);
    await expect(look.locator(".curves-facts")).toContainText("Rg");
    await expect
      .poll(
        async () => Number(/Rg([\d.]+)/.exec((await look.locator(".curves-facts").textContent()) ?? "")?.[1]),
        PATIENCE,
      )
      .toBeGreaterThan(40);

    await pick(page, "Model", "Spheres");
    await expect(strip.getByLabel("Radius")).toHaveValue("60");
    await strip.getByLabel("Width ln R").fill("0.12");
    await strip.getByLabel("Width ln R").press("Enter");
    await page.waitForTimeout(500);
    const height = await page.evaluate(() => document.documentElement.scrollHeight - window.innerHeight);
    expect(height).toBeLessThanOrEqual(0);
    await page.screenshot({ path: test.info().outputPath("curves-1280x800.png") });

    // The ledger says how well all points are known in common, factor by factor.
    await page.locator(".common-part").click();
    await expect(page.locator(".step-details")).toContainText("sample in its cell");
    await page.keyboard.press("Escape");

    await strip.getByRole("button", { name: "Take reference.csv away" }).click();
    await expect(strip.locator(".curves-row-name")).toHaveCount(0);
    await page.getByRole("button", { name: "Undo", exact: true }).click();
    await expect(strip.locator(".curves-row-name")).toHaveText(["reference.csv"], PATIENCE);
    expect(complaints).toEqual([]);
  } finally {
    await page.goto("about:blank");
    await host.stop();
    await rm(folder, { recursive: true, force: true });
  }
});

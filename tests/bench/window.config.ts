import { resolve } from "node:path";
import { defineConfig } from "@playwright/test";

const launcher = resolve(import.meta.dirname, "../../electron/launch/chromium.mjs");
const { findChromium } = (await import(launcher)) as { findChromium: () => string | undefined };
const executablePath = findChromium();
if (executablePath === undefined) throw new Error("this needs Chromium or Chrome");

// npx playwright test --config tests/bench/window.config.ts
export default defineConfig({
  testDir: ".",
  testMatch: "*.bench.ts",
  outputDir: "../../test-results/bench",
  workers: 1,
  timeout: 600_000,
  use: {
    launchOptions: { executablePath, args: ["--use-angle=swiftshader", "--no-sandbox"] },
    viewport: { width: 1280, height: 800 },
  },
});

import { defineConfig } from "@playwright/test";
import { findChromium } from "../../electron/launch/chromium.mjs";

const executablePath = findChromium();
if (executablePath === undefined) throw new Error("this needs Chromium or Chrome");

// npx playwright test --config tests/bench/drag.config.ts
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

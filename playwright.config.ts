import { defineConfig } from "@playwright/test";
import { findChromium } from "./electron/launch/chromium.mjs";
import { HARNESS_ADDRESS } from "./tests/e2e/harness/address.ts";

const executablePath = findChromium();
if (executablePath === undefined)
  throw new Error("the browser tests need Chromium or Chrome: install it, or set CHROMIUM to the program's path");

export default defineConfig({
  testDir: "tests/e2e",
  outputDir: "test-results/e2e",
  workers: 1,
  timeout: 60_000,
  // A timing that fails once and passes once is a fault to look at.
  retries: 0,
  forbidOnly: process.env.CI !== undefined,
  use: {
    launchOptions: {
      executablePath,
      // The same drawing with a window and without, whatever the machine's graphics; no sandbox for root.
      args: ["--use-angle=swiftshader", "--no-sandbox"],
    },
    viewport: { width: 1280, height: 800 },
  },
  webServer: {
    command:
      "npx vite build --config tests/e2e/harness/vite.config.ts --logLevel warn && " +
      "npx vite preview --config tests/e2e/harness/vite.config.ts",
    url: HARNESS_ADDRESS,
    timeout: 120_000,
  },
});

// npm test [-- STAGE...]: installs what is missing, then checks everything, cheapest first; stops at the first failure.
import { existsSync, mkdirSync, readFileSync, rmSync } from "node:fs";
import { findUphillImports } from "./arrows.mjs";
import { buildOrThrow } from "./build.mjs";
import { ensureChromium } from "./chromium.mjs";
import { ensureInstalled } from "./ensure.mjs";
import { inProject, note, runTool } from "./project.mjs";

const REPORTS = inProject("test-results");
const VITEST_REPORT = inProject("test-results/vitest.json");
const PLAYWRIGHT_REPORT = inProject("test-results/playwright.json");
const counts = { passed: 0, failed: 0, skipped: 0, ran: false };

const STAGES = {
  // From scratch: what an earlier, failed build left behind can outlive the mistake.
  types: () => runTool("typescript/bin/tsc", ["-b", "--force"]),
  lint: () => runTool("@biomejs/biome/bin/biome", ["check", "--error-on-warnings", "."]),
  arrows: () => {
    const wrong = findUphillImports();
    for (const line of wrong) note(line);
    return wrong.length === 0 ? 0 : 1;
  },
  // Some unit and contract tests load the hosts as they are built.
  build: async () => {
    await buildOrThrow(["electron", "cli", "renderer"]);
    return 0;
  },
  unit: async () => {
    const code = await runTool("vitest/vitest.mjs", [
      "run",
      "--reporter=default",
      "--reporter=json",
      `--outputFile.json=${VITEST_REPORT}`,
    ]);
    if (existsSync(VITEST_REPORT)) {
      const report = JSON.parse(readFileSync(VITEST_REPORT, "utf8"));
      // A file that fails to load has no tests to count.
      const brokenFiles = report.testResults.filter(
        (file) => file.status === "failed" && file.assertionResults.length === 0,
      );
      add(
        report.numPassedTests,
        report.numFailedTests + brokenFiles.length,
        report.numPendingTests + report.numTodoTests,
      );
    }
    return code;
  },
  e2e: async () => {
    const code = await runTool("@playwright/test/cli.js", ["test", "--reporter=list,json"], {
      env: { PLAYWRIGHT_JSON_OUTPUT_NAME: PLAYWRIGHT_REPORT },
    });
    if (existsSync(PLAYWRIGHT_REPORT)) {
      const { stats } = JSON.parse(readFileSync(PLAYWRIGHT_REPORT, "utf8"));
      add(stats.expected + stats.flaky, stats.unexpected, stats.skipped);
    }
    return code;
  },
};
const NEEDS_BROWSER = ["unit", "e2e"];

function add(passed, failed, skipped) {
  counts.passed += passed;
  counts.failed += failed;
  counts.skipped += skipped;
  counts.ran = true;
}

function finish(code) {
  if (counts.ran) {
    const skipped = counts.skipped > 0 ? `, ${counts.skipped} skipped` : "";
    process.stdout.write(`${counts.passed} passed, ${counts.failed} failed${skipped}\n`);
  }
  process.exit(code);
}

const asked = process.argv.slice(2);
const unknown = asked.find((name) => !Object.hasOwn(STAGES, name));
if (unknown !== undefined) {
  note(`no stage is called "${unknown}": ${Object.keys(STAGES).join(", ")}`);
  process.exit(2);
}
const stages = Object.keys(STAGES).filter((name) => asked.length === 0 || asked.includes(name));

await ensureInstalled();
if (stages.some((name) => NEEDS_BROWSER.includes(name))) {
  const chromium = await ensureChromium();
  if (chromium === undefined) process.exit(1);
  process.env.CHROMIUM = chromium;
}
rmSync(REPORTS, { recursive: true, force: true });
mkdirSync(REPORTS, { recursive: true });
for (const name of stages) {
  note(`test stage: ${name}`);
  let code;
  try {
    code = await STAGES[name]();
  } catch (error) {
    note(error instanceof Error ? error.message : String(error));
    code = 1;
  }
  if (code !== 0) {
    note(`stopped: the stage "${name}" failed`);
    finish(code);
  }
}
finish(0);

import { expect, it } from "vitest";
import { damagedSample, openDamaged, validSamples } from "../support/damaged-samples.ts";

const RUNS = 480;
/** Of computing on one file. */
const LIMIT_S = 5;

// The long form, with figures in tests/README.md: tests/bench/fuzz-formats.ts.
it("a changed file of any format is a frame, a curve or a fault, soon and within memory", {
  timeout: 120_000,
}, async () => {
  const samples = validSamples(new URL("../support/fixtures/", import.meta.url));
  const outcomes = { frame: 0, curve: 0, fault: 0 };
  const before = process.memoryUsage().rss;
  let most = 0;
  for (let run = 0; run < RUNS; run++) {
    const file = damagedSample(samples, 5, run);
    const cpu = process.cpuUsage();
    outcomes[await openDamaged(file, run)]++;
    const { user, system } = process.cpuUsage(cpu);
    expect((user + system) / 1e6, `run ${run} of ${file.name}`).toBeLessThan(LIMIT_S);
    most = Math.max(most, process.memoryUsage().rss - before);
  }
  // Changes that do nothing, and changes that matter: both kinds are among them.
  expect(outcomes.frame).toBeGreaterThan(RUNS / 10);
  expect(outcomes.fault).toBeGreaterThan(RUNS / 10);
  // 256 MiB for the HDF5 library, 64 MiB for what a small file may unpack to, and as much again for what holds them.
  expect(most).toBeLessThan(640 * 2 ** 20);
});

import { availableParallelism } from "node:os";
import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    include: ["tests/{unit,physics,contract}/**/*.test.{ts,tsx}"],
    testTimeout: 60_000,
    pool: "forks",
    // On its own the runner leaves one processor free: on a machine of two, that is half of it.
    maxWorkers: Math.max(2, availableParallelism() - 1),
  },
});

import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    include: ["tests/{unit,physics,contract}/**/*.test.{ts,tsx}"],
    testTimeout: 60_000,
    pool: "forks",
  },
});

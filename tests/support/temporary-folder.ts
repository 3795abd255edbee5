import { mkdtempSync, realpathSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll } from "vitest";

/** A fresh folder, removed when the test file is through. A real path: some systems keep temporary files behind a link. */
export function temporaryFolder(): string {
  const folder = realpathSync(mkdtempSync(join(tmpdir(), "halation-test-")));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

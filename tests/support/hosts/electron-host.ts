import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { vi } from "vitest";
import type { WindowHost } from "../../../core/host-contract.ts";
import { type ElectronStandin, electronStandin, type StandinPlaces } from "./electron-standin.ts";

const BUILT = resolve(import.meta.dirname, "../../../dist/electron");

/** Builds the desktop program where its sources are newer than what is built. */
export async function buildElectron(targets: readonly string[] = ["electron"]): Promise<void> {
  const launcher = resolve(import.meta.dirname, "../../../electron/launch/build.mjs");
  const { buildOrThrow } = (await import(launcher)) as { buildOrThrow: (names: readonly string[]) => Promise<void> };
  await buildOrThrow(targets);
}

/** Runs the built main and preload against the stand-in, as `electron . -- FILES` would. */
export async function startElectronHost(
  places: StandinPlaces,
  files: readonly string[],
): Promise<ElectronStandin & { readonly host: WindowHost }> {
  const standin = electronStandin(places);
  vi.resetModules();
  vi.doMock("electron", () => standin.electron);
  const argv = process.argv;
  process.argv = ["electron", ".", "--", ...files];
  try {
    await import(resolve(BUILT, "main.js"));
    await vi.waitFor(() => {
      if (standin.record.loaded.length === 0 && standin.record.exitCodes.length === 0)
        throw new Error("the window is not open yet");
    });
  } finally {
    process.argv = argv;
    vi.doUnmock("electron");
  }
  runPreload(standin);
  return { ...standin, host: standin.record.exposed.get("halation") as WindowHost };
}

/** A sandboxed preload is one CommonJS file that can require electron and nothing else of ours. */
function runPreload({ electron }: ElectronStandin): void {
  const require = (name: string): unknown => {
    if (name !== "electron") throw new Error(`a sandboxed preload can't require ${name}`);
    return electron;
  };
  const run = new Function("require", "module", "exports", readFileSync(resolve(BUILT, "preload.cjs"), "utf8"));
  run(require, { exports: {} }, {});
}

// node electron/launch/build.mjs TARGET...: builds what is older than its sources.
import { existsSync } from "node:fs";
import { builtinModules } from "node:module";
import { pathToFileURL } from "node:url";
import { withBuildLock } from "./build-lock.mjs";
import { ensureInstalled } from "./ensure.mjs";
import { inProject, note } from "./project.mjs";
import { isFresh, sourceDigest, writeStamp } from "./source-stamp.mjs";

// Packages that look for files of their own at run time (wasm, plug-ins) stay in node_modules. Everything else is
// bundled: it starts faster, and CommonJS packages get the same named imports as in the window.
const STAYS_OUTSIDE = [/^electron($|\/)/, /^h5wasm($|\/)/, /^h5wasm-plugins($|\/)/, /^@resvg\/resvg-wasm($|\/)/];
const NODE_BUILTINS = [/^node:/, ...builtinModules];

/** Warnings are told; how long which plug-in took is not one of them. */
const UNTIMED = { rolldownOptions: { checks: { pluginTimings: false } } };
const QUIET = { logLevel: "warn", build: UNTIMED, worker: UNTIMED };

function nodeBuild({ outDir, entries, format = "es" }) {
  return {
    configFile: false,
    root: inProject(),
    ...QUIET,
    publicDir: false,
    ssr: { noExternal: true, external: ["electron", "h5wasm", "h5wasm-plugins", "@resvg/resvg-wasm"] },
    build: {
      ssr: true,
      target: "node20",
      outDir: inProject(outDir),
      emptyOutDir: format === "es",
      minify: false,
      sourcemap: true,
      rolldownOptions: {
        ...UNTIMED.rolldownOptions,
        input: Object.fromEntries(Object.entries(entries).map(([name, file]) => [name, inProject(file)])),
        external: [...STAYS_OUTSIDE, ...NODE_BUILTINS],
        output:
          format === "es"
            ? // All in one folder: the guard of HDF5 starts the thread that lies beside it, whichever chunk it is in.
              { format, entryFileNames: "[name].js", chunkFileNames: "[name]-[hash].js" }
            : // A sandboxed preload can load neither ESM nor a second file.
              { format, entryFileNames: "[name].cjs", codeSplitting: false },
      },
    },
  };
}

const HDF5_THREAD = { "hdf5-thread": "electron/services/hdf5-thread.ts" };
const COMMON = ["core", "package.json", "package-lock.json", "tsconfig.json"];

/** What there is to build: its sources, and the Vite builds that make it. */
const TARGETS = {
  renderer: {
    sources: [...COMMON, "renderer"],
    builds: () => [{ configFile: inProject("renderer/vite.config.ts"), ...QUIET }],
  },
  electron: {
    sources: [...COMMON, "electron"],
    builds: () => [
      nodeBuild({ outDir: "dist/electron", entries: { main: "electron/main/main.ts", ...HDF5_THREAD } }),
      nodeBuild({ outDir: "dist/electron", entries: { preload: "electron/preload/preload.ts" }, format: "cjs" }),
    ],
  },
  cli: {
    sources: [...COMMON, "electron"],
    builds: () => [
      nodeBuild({
        outDir: "dist/cli",
        entries: {
          main: "electron/cli/main.ts",
          "browser-host": "electron/browser-host/main.ts",
          "batch-thread": "electron/cli/batch/thread.ts",
          ...HDF5_THREAD,
        },
      }),
    ],
  },
  bench: {
    sources: [...COMMON, "electron", "tests/bench", "tests/support"],
    builds: () => [nodeBuild({ outDir: "dist/bench", entries: { run: "tests/bench/run.ts" } })],
  },
  fuzz: {
    sources: [...COMMON, "electron", "tests/bench", "tests/support"],
    builds: () => [
      nodeBuild({ outDir: "dist/fuzz", entries: { "fuzz-formats": "tests/bench/fuzz-formats.ts", ...HDF5_THREAD } }),
    ],
  },
};
const ALL = ["renderer", "electron", "cli"];

/** As `buildOrThrow`, for a command: a failed build is told, and ends the program with 1. */
export async function buildTargets(names) {
  try {
    await buildOrThrow(names);
  } catch (error) {
    note(`the build failed: ${error instanceof Error ? error.message : String(error)}`);
    process.exit(1);
  }
}

/** Builds those targets that are older than their sources. Says so on standard error, and nothing where all is fresh. */
export async function buildOrThrow(names) {
  const stale = () => names.filter((name) => !isFresh(name, sourceDigest(TARGETS[name].sources)));
  if (stale().length === 0) return;
  await withBuildLock(async () => {
    for (const name of stale()) {
      // Taken before the build, so that a file saved meanwhile makes the next start build again.
      const digest = sourceDigest(TARGETS[name].sources);
      note(`building ${name}`);
      const { build } = await import("vite");
      for (const config of TARGETS[name].builds()) await quietly(() => inTime(build(config), name));
      writeStamp(name, digest);
    }
  });
}

/** A build takes some ten seconds; one that stands still must not hold up a command without a word. */
const LONGEST_BUILD_S = 300;

function inTime(built, name) {
  let timer;
  const late = new Promise((_, reject) => {
    timer = setTimeout(
      () => reject(new Error(`building ${name} took longer than ${LONGEST_BUILD_S} s`)),
      LONGEST_BUILD_S * 1000,
    );
  });
  return Promise.race([built, late]).finally(() => clearTimeout(timer));
}

/** Vite writes its report to standard output, which belongs to the command that runs next. */
async function quietly(work) {
  const write = process.stdout.write;
  process.stdout.write = process.stderr.write.bind(process.stderr);
  try {
    return await work();
  } finally {
    process.stdout.write = write;
  }
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? "").href) {
  const asked = process.argv.slice(2).flatMap((name) => (name === "all" ? ALL : [name]));
  const unknown = asked.find((name) => !Object.hasOwn(TARGETS, name));
  if (asked.length === 0 || unknown !== undefined) {
    note(
      `build what? one of all, ${Object.keys(TARGETS).join(", ")}${unknown === undefined ? "" : `; not "${unknown}"`}`,
    );
    process.exit(2);
  }
  if (!existsSync(inProject("core"))) throw new Error("the project folder is incomplete: core is missing");
  await ensureInstalled();
  await buildTargets(asked);
}

// npm start [-- FILE...]: opens the window on the files, or on the sample experiment. Electron where its program is
// there, else the installed browser, else the address of the local host.
import { spawn } from "node:child_process";
import { pathToFileURL } from "node:url";
import { parseArgs } from "node:util";
import { buildTargets } from "./build.mjs";
import { findChromium } from "./chromium.mjs";
import { electronBinary, fetchElectronOnce } from "./electron-binary.mjs";
import { ensureInstalled } from "./ensure.mjs";
import { inProject, note } from "./project.mjs";

const HELP = `npm start [-- OPTIONS FILE...]
Opens the window on the files; without any, on the sample experiment.
  --browser      the local browser host even where Electron is there
  --exports DIR  where the browser host saves what the window exports (halation-exports beside the start folder)
  --no-open      the browser host only prints its address
`;
/** A window that dies faster than this did not open: missing libraries, most likely. */
const FAILED_START_MS = 10_000;

function readArguments() {
  try {
    return parseArgs({
      allowPositionals: true,
      options: {
        browser: { type: "boolean", default: false },
        exports: { type: "string" },
        "no-open": { type: "boolean", default: false },
        help: { type: "boolean", default: false },
      },
    });
  } catch (error) {
    note(`${error.message.split("\n")[0]} See npm start -- --help.`);
    process.exit(2);
  }
}

function hasDisplay() {
  if (process.platform === "darwin" || process.platform === "win32") return true;
  return Boolean(process.env.DISPLAY || process.env.WAYLAND_DISPLAY);
}

/** True: Electron ran and was closed. False: it did not get as far as a window. */
function runElectron(program, files) {
  const asRoot = process.getuid?.() === 0;
  const started = Date.now();
  // Chromium refuses to run its sandbox as root.
  const child = spawn(program, [...(asRoot ? ["--no-sandbox"] : []), inProject(), "--", ...files], {
    stdio: ["ignore", 2, 2],
  });
  const end = () => child.kill("SIGTERM");
  process.once("SIGINT", end);
  process.once("SIGTERM", end);
  return new Promise((done) => {
    child.on("error", (error) => {
      note(`Electron did not start: ${error.message}`);
      done(false);
    });
    child.on("exit", (code) => {
      process.off("SIGINT", end);
      process.off("SIGTERM", end);
      done(code === 0 || code === null || Date.now() - started > FAILED_START_MS);
    });
  });
}

const { values, positionals } = readArguments();
if (values.help) {
  process.stdout.write(HELP);
  process.exit(0);
}
await ensureInstalled();
const wantsElectron = !values.browser && !values["no-open"] && hasDisplay();
if (wantsElectron && electronBinary() === undefined && !process.env.CI) await fetchElectronOnce();
const program = wantsElectron ? electronBinary() : undefined;
await buildTargets(["renderer", ...(program === undefined ? [] : ["electron"]), "cli"]);

if (program === undefined || !(await runElectron(program, positionals))) {
  if (program !== undefined) note("Electron ended at once: opening the window in the browser instead");
  const { runBrowserHost } = await import(pathToFileURL(inProject("dist/cli/browser-host.js")).href);
  process.exitCode = await runBrowserHost({
    files: positionals,
    samples: inProject("samples"),
    exportsFolder: values.exports,
    browser: !values["no-open"] && hasDisplay() ? findChromium() : undefined,
  });
}

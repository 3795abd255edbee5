// The installed browser: Chromium or Chrome, or what the variable CHROMIUM names.
import { accessSync, constants, existsSync } from "node:fs";
import { delimiter, join } from "node:path";
import { note, run } from "./project.mjs";

const NAMES = ["chromium", "chromium-browser", "google-chrome", "google-chrome-stable"];
/** Where it stands when it isn't on PATH. */
const PLACES = {
  darwin: [
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
  ],
  win32: ["PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA"]
    .filter((name) => process.env[name])
    .map((name) => join(process.env[name], "Google/Chrome/Application/chrome.exe")),
};

function isProgram(path) {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

export function findOnPath(names) {
  for (const folder of (process.env.PATH ?? "").split(delimiter)) {
    for (const name of names) if (folder !== "" && isProgram(join(folder, name))) return join(folder, name);
  }
  return undefined;
}

/** Path of the browser; undefined: none. */
export function findChromium() {
  const named = process.env.CHROMIUM;
  if (named !== undefined && named !== "") return isProgram(named) ? named : findOnPath([named]);
  return findOnPath(NAMES) ?? (PLACES[process.platform] ?? []).find((path) => existsSync(path));
}

/** The browser, installed first where this is Debian's root. Undefined: not to be had, and the person was told. */
export async function ensureChromium() {
  const found = findChromium();
  if (found !== undefined) return found;
  if (process.env.CHROMIUM) {
    note(`the variable CHROMIUM names "${process.env.CHROMIUM}", which is no program`);
    return undefined;
  }
  if (process.getuid?.() === 0 && findOnPath(["apt-get"]) !== undefined) {
    note("the browser tests need Chromium: running apt-get install chromium (a few minutes)");
    const quiet = { stdout: "stderr", env: { DEBIAN_FRONTEND: "noninteractive" } };
    // An out-of-date list of one source need not stop the install of a package that another source has.
    await run("apt-get", ["update", "-q"], quiet);
    await run("apt-get", ["install", "-y", "-q", "--no-install-recommends", "chromium"], quiet);
    const installed = findChromium();
    if (installed !== undefined) return installed;
  }
  note(
    "the browser tests need Chromium or Chrome: install the package chromium, or set CHROMIUM to the program's path",
  );
  return undefined;
}

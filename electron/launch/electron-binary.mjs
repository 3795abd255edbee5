// Electron's program, which its package fetches only when asked. Requiring the package would start that download, so
// it is found through the file that the download leaves behind.
import { existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { inProject, note, run } from "./project.mjs";

const LONGEST_FETCH_S = 60;

function packageFolder() {
  return inProject("node_modules/electron");
}

/** Path of the program; undefined: it isn't there. */
export function electronBinary() {
  const pathFile = join(packageFolder(), "path.txt");
  if (!existsSync(pathFile)) return undefined;
  const folder = process.env.ELECTRON_OVERRIDE_DIST_PATH ?? join(packageFolder(), "dist");
  const program = join(folder, readFileSync(pathFile, "utf8").trim());
  return existsSync(program) ? program : undefined;
}

/** One try a version and install, remembered in node_modules: a computer without the way out isn't kept waiting again. */
export async function fetchElectronOnce() {
  if (!existsSync(packageFolder())) return;
  const { version } = JSON.parse(readFileSync(join(packageFolder(), "package.json"), "utf8"));
  const tried = inProject("node_modules/.cache/halation/electron-fetch.json");
  if (existsSync(tried) && JSON.parse(readFileSync(tried, "utf8")).version === version) return;
  note(`fetching Electron's program once (up to ${LONGEST_FETCH_S} s; without it the window opens in the browser)`);
  mkdirSync(dirname(tried), { recursive: true });
  // Written first: a start that is broken off counts as the try.
  writeFileSync(tried, JSON.stringify({ version }));
  const code = await run(process.execPath, [join(packageFolder(), "install.js")], {
    stdout: "stderr",
    timeout_s: LONGEST_FETCH_S,
  });
  if (code !== 0) note(`Electron's program could not be had; to try again delete ${tried}`);
}

// Installs what the lock file asks for and node_modules lacks. Prints to standard error only.
import { existsSync, readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import { inProject, note, run } from "./project.mjs";

const LOWEST_NODE = 20;

/**
 * Why node_modules is not what the lock file asks for; undefined: it is. npm writes its own list of what it installed
 * last of all, so an install that was cut short has none. File times are no guide: a fresh clone changes them.
 */
export function whatIsMissing(root = inProject()) {
  const installedList = `${root}/node_modules/.package-lock.json`;
  if (!existsSync(installedList)) return "nothing is installed yet";
  const wanted = JSON.parse(readFileSync(`${root}/package-lock.json`, "utf8")).packages;
  const installed = JSON.parse(readFileSync(installedList, "utf8")).packages;
  for (const [path, entry] of Object.entries(wanted)) {
    // "" is the project itself; an optional package is another platform's binary more often than not.
    if (path === "" || entry.optional || entry.devOptional || entry.link) continue;
    if (installed[path]?.version !== entry.version)
      return `${path.replace("node_modules/", "")} ${entry.version} is missing`;
  }
  return undefined;
}

export async function ensureInstalled() {
  const major = Number(process.versions.node.split(".")[0]);
  if (major < LOWEST_NODE) {
    note(`needs Node ${LOWEST_NODE} or newer; this is Node ${process.versions.node}`);
    process.exit(1);
  }
  const missing = whatIsMissing();
  if (missing === undefined) return;
  note(`${missing}: running npm ci (about half a minute)`);
  const code = await run("npm", ["ci", "--no-fund", "--no-audit", "--loglevel=error"], {
    stdout: "stderr",
    shell: process.platform === "win32",
  });
  if (code !== 0) {
    note("npm ci failed; its message is above. The packages come from the npm registry: is the network there?");
    process.exit(1);
  }
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? "").href) await ensureInstalled();

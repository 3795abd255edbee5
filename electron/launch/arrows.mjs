// Which room may import from which. Lint rules and project references say much the same; this is the net that reads
// the imports themselves, types and workers included, and knows the order inside core.
import { existsSync, readdirSync, readFileSync, statSync } from "node:fs";
import { dirname, extname, join, relative, resolve, sep } from "node:path";
import { pathToFileURL } from "node:url";
import { note, ROOT } from "./project.mjs";

const ROOMS = ["core", "electron", "renderer"];
const MAY_IMPORT = { core: ["core"], electron: ["electron", "core"], renderer: ["renderer", "core"] };
/** Packages that core must not see: they know a window or a host. */
const NOT_IN_CORE = [
  /^node:/,
  /^electron$/,
  /^react/,
  /^pixi\.js/,
  /^@base-ui\//,
  /^zustand/,
  /^tinykeys$/,
  /^lucide-react/,
];
const FORBIDDEN_PACKAGES = {
  core: [...NOT_IN_CORE, /^h5wasm\/node$/],
  renderer: [/^node:/, /^electron$/, /^h5wasm\/node$/],
  electron: [/^react/, /^pixi\.js/, /^@base-ui\//, /^zustand/],
};
/** Ways to the machine that only renderer/host may take. */
const HOST_ONLY = /\b(EventSource|WebSocket|XMLHttpRequest)\b/;

const IMPORTS =
  /(?:^|[\s;}])(?:import|export)\s[^"';]*?\bfrom\s*["']([^"']+)["']|\bimport\s*\(\s*["']([^"']+)["']|(?:^|\s)import\s*["']([^"']+)["']|new URL\(\s*["'](\.[^"']+)["']\s*,\s*import\.meta\.url/g;

function* sourceFiles(folder) {
  if (!existsSync(folder)) return;
  for (const name of readdirSync(folder)) {
    const path = join(folder, name);
    if (statSync(path).isDirectory()) yield* sourceFiles(path);
    else if ([".ts", ".tsx"].includes(extname(name))) yield path;
  }
}

function withoutComments(text) {
  return text.replace(/\/\*[\s\S]*?\*\//g, "").replace(/^\s*\/\/.*$/gm, "");
}

function importsOf(text) {
  return [...withoutComments(text).matchAll(IMPORTS)].map((match) => match[1] ?? match[2] ?? match[3] ?? match[4]);
}

/** Folders of core that import each other in a circle: a list of the circle's members, or undefined. */
function findCircle(graph) {
  const state = new Map();
  const visit = (folder, trail) => {
    if (state.get(folder) === "done") return undefined;
    if (state.get(folder) === "open") return [...trail.slice(trail.indexOf(folder)), folder];
    state.set(folder, "open");
    for (const next of graph.get(folder) ?? []) {
      const circle = visit(next, [...trail, folder]);
      if (circle !== undefined) return circle;
    }
    state.set(folder, "done");
    return undefined;
  };
  for (const folder of graph.keys()) {
    const circle = visit(folder, []);
    if (circle !== undefined) return circle;
  }
  return undefined;
}

/** One line for each import that goes the wrong way. */
export function findUphillImports(root = ROOT) {
  const wrong = [];
  const coreGraph = new Map();
  for (const room of ROOMS) {
    for (const file of sourceFiles(join(root, room))) {
      const shown = relative(root, file).split(sep).join("/");
      const text = readFileSync(file, "utf8");
      for (const target of importsOf(text)) {
        if (!target.startsWith(".")) {
          if (FORBIDDEN_PACKAGES[room].some((pattern) => pattern.test(target)))
            wrong.push(`${shown} imports ${target}: not in ${room}`);
          continue;
        }
        const parts = relative(root, resolve(dirname(file), target)).split(sep);
        // For the version alone.
        if (parts[0] === "package.json" && room !== "core") continue;
        if (!MAY_IMPORT[room].includes(parts[0]))
          wrong.push(`${shown} imports ${parts.join("/")}: ${room} imports ${MAY_IMPORT[room].join(" and ")} only`);
        if (room === "core" && parts[0] === "core" && parts.length > 2) {
          const from = shown.split("/").length > 2 ? shown.split("/")[1] : ".";
          if (from === "model" && parts[1] !== "model")
            wrong.push(`${shown} imports ${parts.join("/")}: model is the bottom of core`);
          if (from !== parts[1]) coreGraph.set(from, (coreGraph.get(from) ?? new Set()).add(parts[1]));
        }
      }
      if (room === "renderer" && !shown.startsWith("renderer/host/") && HOST_ONLY.test(withoutComments(text)))
        wrong.push(`${shown} talks to a server by itself: the window reaches the machine through renderer/host`);
    }
  }
  const circle = findCircle(coreGraph);
  if (circle !== undefined) wrong.push(`folders of core import each other in a circle: ${circle.join(" -> ")}`);
  return wrong;
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? "").href) {
  const wrong = findUphillImports();
  for (const line of wrong) note(line);
  process.exitCode = wrong.length === 0 ? 0 : 1;
}

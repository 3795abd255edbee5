#!/usr/bin/env node
// The command line. Standard output belongs to the command alone.
import { pathToFileURL } from "node:url";
import { buildTargets } from "./build.mjs";
import { ensureInstalled } from "./ensure.mjs";
import { inProject } from "./project.mjs";

await ensureInstalled();
await buildTargets(["cli"]);
const { main } = await import(pathToFileURL(inProject("dist/cli/main.js")).href);
process.exitCode = await main(process.argv.slice(2));

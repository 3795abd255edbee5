// npm run -s bench -- --json: the timings of the kernels on this machine.
import { buildTargets } from "./build.mjs";
import { ensureInstalled } from "./ensure.mjs";
import { inProject, run } from "./project.mjs";

await ensureInstalled();
await buildTargets(["bench"]);
// A process of its own: timings must not share a heap with the build.
process.exitCode = await run(process.execPath, [inProject("dist/bench/run.js"), ...process.argv.slice(2)]);

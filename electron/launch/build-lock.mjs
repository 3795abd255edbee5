// One build at a time: two commands that start together must not write the same files.
import { mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { inProject, note } from "./project.mjs";

const LOCK = () => inProject("dist/.build-lock");
const POLL_MS = 200;
const LONGEST_WAIT_MS = 300_000;

function isAlive(pid) {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return error.code === "EPERM";
  }
}

/** The build that holds the lock; undefined where it died or has not yet said who it is. */
function holder() {
  try {
    const pid = Number(readFileSync(`${LOCK()}/pid`, "utf8"));
    return isAlive(pid) ? pid : "dead";
  } catch {
    return undefined;
  }
}

export async function withBuildLock(work) {
  mkdirSync(inProject("dist"), { recursive: true });
  const start = Date.now();
  for (let told = false; ; ) {
    try {
      mkdirSync(LOCK());
      break;
    } catch (error) {
      if (error.code !== "EEXIST") throw error;
    }
    const other = holder();
    const silent = other === undefined && Date.now() - start > 5000;
    if (other === "dead" || silent || Date.now() - start > LONGEST_WAIT_MS)
      rmSync(LOCK(), { recursive: true, force: true });
    else {
      if (!told) note("waiting for another build to finish");
      told = true;
      await new Promise((resume) => setTimeout(resume, POLL_MS));
    }
  }
  writeFileSync(`${LOCK()}/pid`, String(process.pid));
  const release = () => rmSync(LOCK(), { recursive: true, force: true });
  process.once("exit", release);
  try {
    return await work();
  } finally {
    process.off("exit", release);
    release();
  }
}

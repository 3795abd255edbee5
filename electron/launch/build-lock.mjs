// One build at a time: two commands that start together must not write the same files.
import { existsSync, mkdirSync, readFileSync, renameSync, rmSync, statSync, utimesSync, writeFileSync } from "node:fs";
import { dirname } from "node:path";
import { inProject, note } from "./project.mjs";

const POLL_MS = 200;
/** How often the build that holds the lock says that it is alive. */
const BEAT_MS = 2000;
/** A holder that was silent for so long is gone, whatever process has its number by now. */
const SILENT_MS = 60_000;
/** A lock without the number of its holder is this old where the holder died between two steps. */
const NAMELESS_MS = 5000;
/** Then the wait ends with a message: a build takes some ten seconds. */
const LONGEST_WAIT_MS = 300_000;
const TELL_EVERY_MS = 30_000;

function isAlive(pid) {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return error.code === "EPERM";
  }
}

/** Who holds the lock, and whether that is over; undefined where there is no lock (any more). */
function holderOf(lock) {
  try {
    const pid = Number(readFileSync(`${lock}/pid`, "utf8"));
    const silent_ms = Date.now() - statSync(`${lock}/pid`).mtimeMs;
    return { pid, isGone: !isAlive(pid) || silent_ms > SILENT_MS };
  } catch (error) {
    if (error.code !== "ENOENT") throw error;
  }
  try {
    return { pid: undefined, isGone: Date.now() - statSync(lock).mtimeMs > NAMELESS_MS };
  } catch (error) {
    if (error.code !== "ENOENT") throw error;
    return undefined;
  }
}

/** Takes away the lock of a holder that is gone, unless another command was quicker and it is somebody else's by now. */
function clear(lock, pid) {
  const aside = `${lock}-${process.pid}`;
  try {
    renameSync(lock, aside);
  } catch (error) {
    if (error.code !== "ENOENT") throw error;
    return;
  }
  if (holderOf(aside)?.pid === pid || existsSync(lock)) rmSync(aside, { recursive: true, force: true });
  else renameSync(aside, lock);
}

function isTaken(lock) {
  try {
    mkdirSync(lock);
    return false;
  } catch (error) {
    if (error.code !== "EEXIST") throw error;
    return true;
  }
}

/**
 * Runs `work` while no other command builds.
 *
 * @throws where another build goes on for longer than five minutes
 */
export async function withBuildLock(
  work,
  { lock = inProject("dist/.build-lock"), longestWait_ms = LONGEST_WAIT_MS } = {},
) {
  mkdirSync(dirname(lock), { recursive: true });
  const start = Date.now();
  let told = Number.NEGATIVE_INFINITY;
  while (isTaken(lock)) {
    const holder = holderOf(lock);
    if (holder?.isGone === true) {
      clear(lock, holder.pid);
      continue;
    }
    const waited_ms = Date.now() - start;
    const who = holder?.pid === undefined ? "another build" : `the build of process ${holder.pid}`;
    if (waited_ms > longestWait_ms)
      throw new Error(`${who} did not finish in ${Math.round(waited_ms / 1000)} s: end it, or delete ${lock}`);
    if (Date.now() - told >= TELL_EVERY_MS) {
      told = Date.now();
      note(`waiting for ${who} to finish (${Math.round(waited_ms / 1000)} s)`);
    }
    await new Promise((resume) => setTimeout(resume, POLL_MS));
  }
  writeFileSync(`${lock}/pid`, String(process.pid));
  const beat = setInterval(() => {
    const now = new Date();
    // Where somebody took the lock away by hand there is nothing to touch.
    if (holderOf(lock)?.pid === process.pid) utimesSync(`${lock}/pid`, now, now);
  }, BEAT_MS);
  beat.unref();
  const release = () => {
    clearInterval(beat);
    if (holderOf(lock)?.pid === process.pid) rmSync(lock, { recursive: true, force: true });
  };
  process.once("exit", release);
  try {
    return await work();
  } finally {
    process.off("exit", release);
    release();
  }
}

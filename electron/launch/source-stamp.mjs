// Whether a build is still that of the sources: the stamp is a digest of names, sizes and times of all source files,
// so a deleted file and a checkout of older sources count as changes too.
import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { inProject } from "./project.mjs";

function addTree(hash, path) {
  if (!existsSync(path)) return;
  const stat = statSync(path);
  if (!stat.isDirectory()) {
    hash.update(`${path}\0${stat.size}\0${stat.mtimeMs}\n`);
    return;
  }
  for (const name of readdirSync(path).sort()) {
    if (name !== "README.md" && name !== "node_modules") addTree(hash, join(path, name));
  }
}

/** @param {readonly string[]} sources files and folders, relative to the project */
export function sourceDigest(sources) {
  const hash = createHash("sha256");
  for (const source of sources) addTree(hash, inProject(source));
  return hash.digest("hex");
}

function stampFile(target) {
  return inProject("dist/.stamps", target);
}

export function isFresh(target, digest) {
  const file = stampFile(target);
  return existsSync(file) && readFileSync(file, "utf8") === digest;
}

export function writeStamp(target, digest) {
  mkdirSync(dirname(stampFile(target)), { recursive: true });
  writeFileSync(stampFile(target), digest);
}

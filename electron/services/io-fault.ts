import { failure, type Result } from "../../core/model/result.ts";

/** What the operating system's refusals mean to a person; anything else is quoted as it came. */
const MEANINGS: Readonly<Record<string, string>> = {
  ENOENT: "there is no such file",
  ENOTDIR: "a part of its path is a file, not a folder",
  EISDIR: "it is a folder, not a file",
  EACCES: "this account may not do that",
  EPERM: "this account may not do that",
  EROFS: "the disk is read-only",
  ENOSPC: "the disk is full",
  EDQUOT: "this account's share of the disk is full",
  EMFILE: "too many files are open",
  ENAMETOOLONG: "its name is too long",
  EIO: "the disk or the share does not answer",
  ESTALE: "the share has gone",
  EHOSTDOWN: "the share has gone",
  ENOTCONN: "the share has gone",
  ELOOP: "its links lead in a circle",
};

export function hasErrorCode(error: unknown): error is Error & { readonly code: string } {
  return error instanceof Error && "code" in error && typeof error.code === "string";
}

/**
 * A refusal of the operating system as a fault: "cannot write /data/out/summary.json: the disk is full". Anything that
 * isn't one is our bug, and thrown on.
 */
export function ioFault(action: "read" | "write" | "list", file: string, error: unknown): Result<never> {
  if (!hasErrorCode(error)) throw error;
  const meaning = MEANINGS[error.code] ?? error.message;
  const code = error.code === "ENOENT" && action === "read" ? "missing" : "unreadable";
  return failure(code, `cannot ${action} ${file}: ${meaning}`, { file });
}

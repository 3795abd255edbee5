import { readFile, realpath, stat } from "node:fs/promises";
import { extname, join } from "node:path";
import { isInside } from "./safe-path.ts";

const TYPES: Readonly<Record<string, string>> = {
  ".html": "text/html; charset=utf-8",
  ".js": "text/javascript; charset=utf-8",
  ".css": "text/css; charset=utf-8",
  ".json": "application/json; charset=utf-8",
  ".svg": "image/svg+xml",
  ".png": "image/png",
  ".woff2": "font/woff2",
  ".woff": "font/woff",
  ".wasm": "application/wasm",
  ".so": "application/octet-stream",
  ".map": "application/json; charset=utf-8",
  ".txt": "text/plain; charset=utf-8",
};

/** On every answer of a host, page, script, worker and call alike: a worker's script without them does not load. */
export const SECURITY_HEADERS: Readonly<Record<string, string>> = {
  "Content-Security-Policy":
    "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: blob:; " +
    "worker-src 'self'; connect-src 'self'; font-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
  "Cross-Origin-Opener-Policy": "same-origin",
  "Cross-Origin-Embedder-Policy": "require-corp",
  "Cross-Origin-Resource-Policy": "same-origin",
  "X-Content-Type-Options": "nosniff",
  "Referrer-Policy": "no-referrer",
  "Cache-Control": "no-store",
};

export type WindowFile =
  | { readonly status: 200; readonly type: string; readonly bytes: Uint8Array<ArrayBuffer> }
  | { readonly status: 400 | 404 };

/**
 * A file of the built window by the path of its address; "/" is the page itself.
 *
 * @param root     folder of the built window
 * @param pathname as the address has it, still percent-encoded
 */
export async function readWindowFile(root: string, pathname: string): Promise<WindowFile> {
  let path: string;
  try {
    path = decodeURIComponent(pathname);
  } catch {
    return { status: 400 };
  }
  // Parsing an address folds ".." and "%2e%2e", but neither "%2f" nor "%5c", and NUL ends a path in the system's eyes.
  const parts = path.split("/").filter((part) => part !== "");
  if (path.includes("\\") || path.includes("\0") || parts.some((part) => part.startsWith("."))) return { status: 400 };
  try {
    const realRoot = await realpath(root);
    const real = await realpath(join(realRoot, ...(parts.length === 0 ? ["index.html"] : parts)));
    if (!isInside(realRoot, real) || !(await stat(real)).isFile()) return { status: 404 };
    const type = TYPES[extname(real).toLowerCase()] ?? "application/octet-stream";
    return { status: 200, type, bytes: new Uint8Array(await readFile(real)) };
  } catch {
    // Whatever keeps a file of the window from being read, the address leads nowhere.
    return { status: 404 };
  }
}

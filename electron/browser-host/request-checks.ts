import type { IncomingMessage } from "node:http";

/** Calls carry a content type that no form can send: another site's page needs a preflight for it, and gets none. */
export const CALL_CONTENT_TYPE = "application/x-halation-frame";

export interface Refusal {
  readonly status: number;
  readonly reason: string;
}

/**
 * What is wrong with where a request comes from; undefined: nothing.
 *
 * - `Host` must be our address in figures: a foreign name that was made to point at 127.0.0.1 gives itself away here.
 * - `Origin`, where the browser sends one, must be ours; every POST must have it.
 * - `Sec-Fetch-Site` must not be another site's.
 *
 * @param port of the server
 */
export function refuseSender(request: IncomingMessage, port: number): Refusal | undefined {
  const authority = `127.0.0.1:${port}`;
  const { host, origin } = request.headers;
  if (host !== authority) return { status: 421, reason: `this server answers to ${authority} only` };
  if (origin === undefined ? request.method === "POST" : origin !== `http://${authority}`)
    return { status: 403, reason: "the request comes from another page" };
  const site = request.headers["sec-fetch-site"];
  if (site !== undefined && site !== "same-origin" && site !== "none")
    return { status: 403, reason: "the request comes from another site" };
  if (request.method !== "GET" && request.method !== "HEAD" && request.method !== "POST")
    return { status: 405, reason: "GET and POST only" };
  return undefined;
}

/** What is wrong with the form of a call; undefined: nothing. */
export function refuseCall(request: IncomingMessage): Refusal | undefined {
  if (request.method !== "POST") return { status: 405, reason: "calls are POST requests" };
  if (request.headers["content-type"] !== CALL_CONTENT_TYPE)
    return { status: 415, reason: `calls have the content type ${CALL_CONTENT_TYPE}` };
  return undefined;
}

/** Value of a cookie of the request; the first of that name. */
export function cookieOf(request: IncomingMessage, name: string): string | undefined {
  for (const pair of (request.headers.cookie ?? "").split(";")) {
    const at = pair.indexOf("=");
    if (at > 0 && pair.slice(0, at).trim() === name) return pair.slice(at + 1).trim();
  }
  return undefined;
}

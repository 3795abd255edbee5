import { createServer, type IncomingMessage, type ServerResponse } from "node:http";
import type { AddressInfo } from "node:net";
import type { HostContract, HostEvents } from "../../core/host-contract.ts";
import { decodeFrame, encodeFrame } from "../../core/host-frame.ts";
import { callHost } from "../services/serve-host.ts";
import { readWindowFile, SECURITY_HEADERS } from "../services/window-files.ts";
import { EventStreams } from "./event-streams.ts";
import { OneTimeToken, randomToken, sameSecret } from "./one-time-token.ts";
import { peerUser } from "./peer-user.ts";
import { readBody } from "./read-body.ts";
import { CALL_CONTENT_TYPE, cookieOf, type Refusal, refuseCall, refuseSender } from "./request-checks.ts";

const MIB = 1024 * 1024;
/** Bytes that a call may bring: exported maps are large, a session can be, the rest is short. */
const BODY_LIMITS: Readonly<Record<string, number>> = { saveExport: 512 * MIB, saveSession: 65 * MIB };
const SHORT_BODY = 64 * 1024;
const HEADERS_TIMEOUT_MS = 10_000;
const REQUEST_TIMEOUT_MS = 120_000;
const MAX_HEADER_BYTES = 16 * 1024;
/** Windows and sessions are few; more is a sign that something goes wrong. */
const MOST_SESSIONS = 32;

export interface BrowserHostOptions {
  readonly host: HostContract;
  /** Folder of the built window. */
  readonly windowFolder: string;
  /** After the last window has been gone for this long, `onIdle`. */
  readonly idle_ms: number;
  readonly onIdle: () => void;
  /** A window's stream has ended, and no other of the same id is open. */
  readonly onWindowGone?: (window: string) => void;
  /** A window used the one-time address; the next needs a new one. */
  readonly onSessionOpened?: () => void;
  /** Our own bug: shown on the terminal, since the window is told only that there was one. */
  readonly onError: (error: unknown) => void;
}

export interface BrowserHost {
  readonly port: number;
  /** A new address that opens one window; an earlier unused one is no longer good. */
  oneTimeAddress(): string;
  send<E extends keyof HostEvents>(event: E, detail: HostEvents[E]): void;
  close(): Promise<void>;
}

/** The window over HTTP, for this computer's own account alone: bound to 127.0.0.1, opened by a one-time token. */
export async function startBrowserHost(options: BrowserHostOptions): Promise<BrowserHost> {
  const token = new OneTimeToken();
  const sessions = new Set<string>();
  const streams = new EventStreams(options.idle_ms, options.onIdle, options.onWindowGone);

  const server = createServer({ maxHeaderSize: MAX_HEADER_BYTES }, (request, response) => {
    for (const [name, value] of Object.entries(SECURITY_HEADERS)) response.setHeader(name, value);
    answer(request, response).catch((error: unknown) => {
      options.onError(error);
      if (response.headersSent) response.destroy();
      else refuse(response, { status: 500, reason: "the host has a fault of its own; the terminal says which" });
    });
  });
  server.headersTimeout = HEADERS_TIMEOUT_MS;
  server.requestTimeout = REQUEST_TIMEOUT_MS;
  await new Promise<void>((resolve, reject) => {
    server.once("error", reject);
    server.listen(0, "127.0.0.1", resolve);
  });
  const { port } = server.address() as AddressInfo;
  // Browsers send a cookie to every port of a host: the name tells the hosts of two starts apart.
  const cookieName = `halation-${port}`;

  async function answer(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const wrongSender = refuseSender(request, port);
    if (wrongSender !== undefined) return refuse(response, wrongSender);
    const url = request.url ?? "/";
    const pathname = url.split(/[?#]/, 1)[0] ?? "/";
    if (pathname === "/api/session") return openSession(request, response);
    if (!pathname.startsWith("/api/")) return serveFile(request, response, pathname);
    const offered = cookieOf(request, cookieName);
    if (offered === undefined || ![...sessions].some((session) => sameSecret(offered, session)))
      return refuse(response, { status: 401, reason: "this window has no session: open it by a new address" });
    if (pathname === "/api/events") return openStream(request, response);
    return call(request, response, pathname.slice("/api/".length));
  }

  async function openSession(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const wrongForm = refuseCall(request);
    if (wrongForm !== undefined) return refuse(response, wrongForm);
    const body = await readBody(request, SHORT_BODY);
    if (body === undefined) return refuse(response, { status: 413, reason: "the token is too long" });
    const offered = decodeFrame(body);
    const user = await peerUser(request.socket);
    if (user !== undefined && user !== process.getuid?.())
      return refuse(response, { status: 403, reason: "this window belongs to another account" });
    if (!offered.ok || typeof offered.value !== "string" || sessions.size >= MOST_SESSIONS || !token.use(offered.value))
      return refuse(response, { status: 401, reason: "this address was used already, or is wrong" });
    const session = randomToken();
    sessions.add(session);
    response.setHeader("Set-Cookie", `${cookieName}=${session}; HttpOnly; SameSite=Strict; Path=/api`);
    response.writeHead(204).end();
    options.onSessionOpened?.();
  }

  async function serveFile(request: IncomingMessage, response: ServerResponse, pathname: string): Promise<void> {
    if (request.method === "POST") return refuse(response, { status: 405, reason: "files are read with GET" });
    const file = await readWindowFile(options.windowFolder, pathname);
    if (file.status !== 200) return refuse(response, { status: file.status, reason: "no such file" });
    response.writeHead(200, { "Content-Type": file.type, "Content-Length": file.bytes.length });
    response.end(request.method === "HEAD" ? undefined : file.bytes);
  }

  function openStream(request: IncomingMessage, response: ServerResponse): void {
    if (request.method !== "GET") {
      refuse(response, { status: 405, reason: "events are read with GET" });
      return;
    }
    response.writeHead(200, { "Content-Type": "text/event-stream" });
    streams.add(response, new URL(request.url ?? "/", "http://127.0.0.1").searchParams.get("window"));
  }

  async function call(request: IncomingMessage, response: ServerResponse, method: string): Promise<void> {
    const wrongForm = refuseCall(request);
    if (wrongForm !== undefined) return refuse(response, wrongForm);
    const limit = Object.hasOwn(BODY_LIMITS, method) ? (BODY_LIMITS[method] ?? SHORT_BODY) : SHORT_BODY;
    const body = await readBody(request, limit);
    if (body === undefined) return refuse(response, { status: 413, reason: `${method} takes ${limit} bytes at most` });
    const args = decodeFrame(body);
    if (!args.ok) return refuse(response, { status: 400, reason: args.fault.message });
    const outcome = await callHost(options.host, method, args.value);
    if (outcome.kind !== "answer")
      return refuse(response, { status: outcome.kind === "unknown method" ? 404 : 400, reason: outcome.kind });
    const frame = encodeFrame(outcome.value);
    response.writeHead(200, { "Content-Type": CALL_CONTENT_TYPE, "Content-Length": frame.length });
    response.end(frame);
  }

  return {
    port,
    oneTimeAddress: () => `http://127.0.0.1:${port}/#token=${token.renew()}`,
    send: (event, detail) => streams.send(event, detail),
    close() {
      streams.close();
      const closed = new Promise<void>((resolve) => server.close(() => resolve()));
      server.closeAllConnections();
      return closed;
    },
  };
}

function refuse(response: ServerResponse, { status, reason }: Refusal): void {
  // The rest of a body that is not wanted is not read: the connection ends here.
  response.writeHead(status, { "Content-Type": "text/plain; charset=utf-8", Connection: "close" });
  response.end(`${reason}\n`);
}

import { mkdirSync, symlinkSync, writeFileSync } from "node:fs";
import { type IncomingHttpHeaders, type OutgoingHttpHeaders, request } from "node:http";
import { connect } from "node:net";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it, vi } from "vitest";
import type { HostContract } from "../../../../core/host-contract.ts";
import { decodeFrame, encodeFrame } from "../../../../core/host-frame.ts";
import { success } from "../../../../core/model/result.ts";
import { type BrowserHost, startBrowserHost } from "../../../../electron/browser-host/server.ts";
import { temporaryFolder } from "../../../support/temporary-folder.ts";

const FRAME = "application/x-halation-frame";
const root = temporaryFolder();
const windowFolder = join(root, "window");

interface Answer {
  readonly status: number;
  readonly headers: IncomingHttpHeaders;
  readonly body: Buffer;
}

interface Ask {
  readonly path: string;
  readonly method?: string;
  readonly headers?: OutgoingHttpHeaders;
  readonly body?: Uint8Array | string;
}

let server: BrowserHost;
const errors: unknown[] = [];
const info = vi.fn(async () => success({ kind: "browser" as const, version: "0", platform: "test" }));
const saveSession = vi.fn(async () => success(undefined));
const loadSession = vi.fn(async () => {
  throw new TypeError("a bug of ours, with a secret path in it");
});

beforeAll(async () => {
  mkdirSync(join(windowFolder, "assets"), { recursive: true });
  writeFileSync(join(windowFolder, "index.html"), "<!doctype html><title>fixture</title>");
  writeFileSync(join(windowFolder, "assets", "main.js"), "export {};");
  writeFileSync(join(windowFolder, ".hidden"), "hidden");
  writeFileSync(join(root, "secret.txt"), "secret");
  symlinkSync(join(root, "secret.txt"), join(windowFolder, "link.txt"));
  server = await start(() => {});
});
afterAll(() => server.close());

function start(onIdle: () => void, idle_ms = 60_000): Promise<BrowserHost> {
  return startBrowserHost({
    host: { info, saveSession, loadSession } as unknown as HostContract,
    windowFolder,
    idle_ms,
    onIdle,
    onError: (error) => errors.push(error),
  });
}

/** A request exactly as told: nothing is added, folded or corrected on the way. */
function ask({ path, method = "GET", headers = {}, body }: Ask, to = server): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const sent = request(
      { host: "127.0.0.1", port: to.port, path, method, headers: { Host: `127.0.0.1:${to.port}`, ...headers } },
      (response) => {
        const pieces: Buffer[] = [];
        response.on("data", (piece: Buffer) => pieces.push(piece));
        response.on("end", () =>
          resolve({ status: response.statusCode ?? 0, headers: response.headers, body: Buffer.concat(pieces) }),
        );
        response.on("error", reject);
      },
    );
    sent.on("error", reject);
    sent.end(body);
  });
}

const ours = (to = server) => ({ Origin: `http://127.0.0.1:${to.port}`, "Content-Type": FRAME });

function tokenOf(address: string): string {
  return new URLSearchParams(new URL(address).hash.slice(1)).get("token") ?? "";
}

async function openSession(to = server): Promise<string> {
  const body = encodeFrame(tokenOf(to.oneTimeAddress()));
  const answer = await ask({ path: "/api/session", method: "POST", headers: ours(to), body }, to);
  expect(answer.status).toBe(204);
  return answer.headers["set-cookie"]?.[0]?.split(";")[0] ?? "";
}

describe("the address", () => {
  it("is in figures, and carries a token of 32 random bytes where no server and no log sees it", () => {
    const address = new URL(server.oneTimeAddress());
    expect(address.origin).toBe(`http://127.0.0.1:${server.port}`);
    expect(address.search).toBe("");
    expect(Buffer.from(tokenOf(address.href), "base64url")).toHaveLength(32);
  });

  it("is bound to loopback only", async () => {
    // Every address of 127.0.0.0/8 reaches a socket that is bound to all; this one must not answer.
    await expect(
      new Promise((resolve, reject) => {
        connect(server.port, "127.0.0.2").on("connect", resolve).on("error", reject);
      }),
    ).rejects.toMatchObject({ code: "ECONNREFUSED" });
  });
});

describe("the session", () => {
  it("is opened once by a token; the cookie keeps to this server's calls and away from scripts", async () => {
    const body = encodeFrame(tokenOf(server.oneTimeAddress()));
    const once = { path: "/api/session", method: "POST", headers: ours(), body };
    const first = await ask(once);
    expect(first.status).toBe(204);
    const [cookie] = first.headers["set-cookie"] ?? [];
    expect(cookie).toMatch(new RegExp(`^halation-${server.port}=[\\w-]{43}; HttpOnly; SameSite=Strict; Path=/api$`));
    expect((await ask(once)).status).toBe(401);
  });

  it("is not opened by a wrong token, and a wrong one does not use up the right one", async () => {
    const right = tokenOf(server.oneTimeAddress());
    const offer = (value: unknown) =>
      ask({ path: "/api/session", method: "POST", headers: ours(), body: encodeFrame(value) });
    for (const wrong of ["", "x", right.slice(1), `${right}x`, undefined, [right], { right }])
      expect((await offer(wrong)).status).toBe(401);
    expect((await offer(right)).status).toBe(204);
  });

  it("is not opened by an earlier address once a new one was made", async () => {
    const earlier = tokenOf(server.oneTimeAddress());
    server.oneTimeAddress();
    const answer = await ask({ path: "/api/session", method: "POST", headers: ours(), body: encodeFrame(earlier) });
    expect(answer.status).toBe(401);
  });

  it("is needed for calls and events", async () => {
    const before = info.mock.calls.length;
    for (const Cookie of [undefined, "", `halation-${server.port}=`, `halation-${server.port}=guess`, "other=1"]) {
      const headers = { ...ours(), ...(Cookie === undefined ? {} : { Cookie }) };
      expect((await ask({ path: "/api/info", method: "POST", headers, body: encodeFrame([]) })).status).toBe(401);
      expect((await ask({ path: "/api/events", headers })).status).toBe(401);
    }
    expect(info.mock.calls.length).toBe(before);
  });
});

describe("a call", () => {
  it("is answered with a frame", async () => {
    const headers = { ...ours(), Cookie: await openSession() };
    const answer = await ask({ path: "/api/info", method: "POST", headers, body: encodeFrame([]) });
    expect(answer.status).toBe(200);
    expect(decodeFrame(answer.body)).toEqual(success(success({ kind: "browser", version: "0", platform: "test" })));
  });

  it.each([
    ["no origin", { Origin: undefined }, 403],
    ["another site's origin", { Origin: "https://attacker.example" }, 403],
    ["the origin null of a sandboxed frame", { Origin: "null" }, 403],
    ["our origin on another port", { Origin: "http://127.0.0.1:1" }, 403],
    ["another site as its source", { "Sec-Fetch-Site": "cross-site" }, 403],
    ["another port's page as its source", { "Sec-Fetch-Site": "same-site" }, 403],
    ["a name that points to 127.0.0.1", { Host: "attacker.example" }, 421],
    ["localhost for a name", { Host: "localhost" }, 421],
    ["a form's content type", { "Content-Type": "text/plain" }, 415],
    ["JSON's content type", { "Content-Type": "application/json" }, 415],
    ["no content type", { "Content-Type": undefined }, 415],
  ])("from %s is refused, and nothing is done", async (_, changed, status) => {
    const before = info.mock.calls.length;
    const headers: OutgoingHttpHeaders = { ...ours(), Cookie: await openSession(), ...changed };
    for (const [name, value] of Object.entries(headers)) if (value === undefined) delete headers[name];
    const answer = await ask({ path: "/api/info", method: "POST", headers, body: encodeFrame([]) });
    expect(answer.status).toBe(status);
    expect(answer.headers["access-control-allow-origin"]).toBeUndefined();
    expect(info.mock.calls.length).toBe(before);
  });

  it("gets no answer to a preflight", async () => {
    const headers = { Origin: "https://attacker.example", "Access-Control-Request-Method": "POST" };
    const answer = await ask({ path: "/api/info", method: "OPTIONS", headers });
    expect(answer.status).toBe(403);
    expect(Object.keys(answer.headers).filter((name) => name.startsWith("access-control"))).toEqual([]);
  });

  it.each(["constructor", "__proto__", "toString", "hasOwnProperty", "nothing", "info/", "Info", ""])(
    "of the name %j is unknown",
    async (name) => {
      const headers = { ...ours(), Cookie: await openSession() };
      const answer = await ask({ path: `/api/${name}`, method: "POST", headers, body: encodeFrame([]) });
      expect(answer.status).toBe(404);
    },
  );

  it("with a damaged frame or wrong arguments is refused", async () => {
    const headers = { ...ours(), Cookie: await openSession() };
    const call = (body: Uint8Array) => ask({ path: "/api/info", method: "POST", headers, body });
    expect((await call(new Uint8Array([9, 9]))).status).toBe(400);
    expect((await call(encodeFrame(["too many"]))).status).toBe(400);
    expect((await call(encodeFrame({ length: 0 }))).status).toBe(400);
  });

  it("with too long a body is refused, whether it says so or not", async () => {
    const headers = { ...ours(), Cookie: await openSession() };
    const path = "/api/info";
    const announced = await ask({ path, method: "POST", headers, body: new Uint8Array(65 * 1024) });
    expect(announced.status).toBe(413);
    const chunked = { ...headers, "Transfer-Encoding": "chunked" };
    expect((await ask({ path, method: "POST", headers: chunked, body: new Uint8Array(65 * 1024) })).status).toBe(413);
    // What is long by nature has a longer limit.
    const long = encodeFrame(["window-1", "x".repeat(200_000)]);
    expect((await ask({ path: "/api/saveSession", method: "POST", headers, body: long })).status).toBe(200);
  });

  it("that meets a bug of ours is answered without its details, which go to the terminal", async () => {
    const headers = { ...ours(), Cookie: await openSession() };
    const answer = await ask({ path: "/api/loadSession", method: "POST", headers, body: encodeFrame(["window-1"]) });
    expect(answer.status).toBe(500);
    expect(answer.body.toString()).not.toContain("secret");
    expect(errors.splice(0)).toMatchObject([{ message: "a bug of ours, with a secret path in it" }]);
  });

  it("must be a POST", async () => {
    const headers = { ...ours(), Cookie: await openSession() };
    for (const method of ["GET", "PUT", "DELETE", "TRACE"])
      expect((await ask({ path: "/api/info", method, headers })).status).toBe(405);
  });
});

describe("the window's files", () => {
  it("come with their type and every header that isolation and safety need", async () => {
    const page = await ask({ path: "/" });
    expect(page.status).toBe(200);
    expect(page.body.toString()).toContain("fixture");
    expect(page.headers["content-type"]).toBe("text/html; charset=utf-8");
    for (const answer of [page, await ask({ path: "/assets/main.js" }), await ask({ path: "/no-such-file" })]) {
      expect(answer.headers).toMatchObject({
        "cross-origin-opener-policy": "same-origin",
        "cross-origin-embedder-policy": "require-corp",
        "cross-origin-resource-policy": "same-origin",
        "x-content-type-options": "nosniff",
        "referrer-policy": "no-referrer",
        "cache-control": "no-store",
      });
      const policy = answer.headers["content-security-policy"] ?? "";
      expect(policy).toContain("default-src 'none'");
      expect(policy).not.toContain("'unsafe-eval'");
      expect(policy).not.toContain("'unsafe-inline'");
      expect(policy).toContain("frame-ancestors 'none'");
    }
    expect((await ask({ path: "/assets/main.js" })).headers["content-type"]).toBe("text/javascript; charset=utf-8");
  });

  it.each([
    "/../secret.txt",
    "/assets/../../secret.txt",
    "/%2e%2e/secret.txt",
    "/..%2fsecret.txt",
    "/assets%2f..%2f..%2fsecret.txt",
    "/..%5csecret.txt",
    "/assets\\..\\..\\secret.txt",
    "/%252e%252e/secret.txt",
    "//secret.txt",
    "/index.html%00.js",
    "/%",
    "/.hidden",
    "/link.txt",
    "/assets",
    "secret.txt",
    "http://127.0.0.1/../secret.txt",
  ])("do not lead out of their folder by %s", async (path) => {
    const answer = await ask({ path });
    expect([400, 404]).toContain(answer.status);
    expect(answer.body.toString()).not.toContain("secret\n");
    expect(answer.body.toString()).not.toBe("secret");
  });

  it("are not for another site's page, nor under another name", async () => {
    expect((await ask({ path: "/", headers: { "Sec-Fetch-Site": "cross-site" } })).status).toBe(403);
    expect((await ask({ path: "/", headers: { Host: `localhost:${server.port}` } })).status).toBe(421);
    expect((await ask({ path: "/", headers: { Host: "attacker.example" } })).status).toBe(421);
    expect((await ask({ path: "/", headers: { "Sec-Fetch-Site": "none" } })).status).toBe(200);
  });
});

describe("the event stream", () => {
  it("carries events, and its end is taken for the window's only after a while", async () => {
    const onIdle = vi.fn();
    const own = await start(onIdle, 150);
    const headers = { Host: `127.0.0.1:${own.port}`, Cookie: await openSession(own), "Sec-Fetch-Site": "same-origin" };
    const open = () =>
      new Promise<{ text: () => string; close: () => void }>((resolve, reject) => {
        const sent = request({ host: "127.0.0.1", port: own.port, path: "/api/events", headers }, (response) => {
          let text = "";
          response.setEncoding("utf8").on("data", (piece: string) => {
            text += piece;
          });
          response.on("error", () => {});
          resolve({ text: () => text, close: () => sent.destroy() });
        });
        sent.on("error", reject).end();
      });
    const first = await open();
    own.send("filesOpened", []);
    await vi.waitFor(() => expect(first.text()).toContain("event: filesOpened\ndata: []\n\n"));
    first.close();
    // A reload: the stream is back before the time is over.
    await new Promise((resume) => setTimeout(resume, 50));
    const second = await open();
    await new Promise((resume) => setTimeout(resume, 300));
    expect(onIdle).not.toHaveBeenCalled();
    second.close();
    await vi.waitFor(() => expect(onIdle).toHaveBeenCalledOnce(), { timeout: 2000 });
    await own.close();
  });
});

import { createServer, type IncomingMessage, type Server, type ServerResponse } from "node:http";
import type { AddressInfo } from "node:net";
import { join, resolve } from "node:path";
import { type Browser, chromium, type Page } from "playwright-core";
import { afterAll, beforeAll, expect, it } from "vitest";
import type { WindowHost } from "../../../core/host-contract.ts";
import { decodeFrame, encodeFrame } from "../../../core/host-frame.ts";
import { buildElectron, startElectronHost } from "../../support/hosts/electron-host.ts";
import { temporaryFolder } from "../../support/temporary-folder.ts";

// The real page over the real main and preload, with a stand-in for the electron module between them: what the page
// loads comes from the recorded handler of the window's scheme, and its calls go through the exposed preload.
type Standin = Awaited<ReturnType<typeof startElectronHost>>;

const root = temporaryFolder();
const SAMPLE = resolve(import.meta.dirname, "../../../samples/spheres.h5");
let server: Server;
let browser: Browser;
let page: Page;
const complaints: string[] = [];
const called: string[] = [];

async function bodyOf(request: IncomingMessage): Promise<Uint8Array> {
  const pieces: Uint8Array[] = [];
  for await (const piece of request as AsyncIterable<Uint8Array>) pieces.push(piece);
  return Buffer.concat(pieces);
}

function bridge({ host, record }: Standin): Server {
  const answer = async (request: IncomingMessage, response: ServerResponse) => {
    const path = request.url ?? "/";
    if (path.startsWith("/api/events")) {
      response.writeHead(200, { "Content-Type": "text/event-stream" }).write(": hello\n\n");
      return;
    }
    if (path.startsWith("/api/")) {
      const method = path.slice("/api/".length) as keyof WindowHost;
      called.push(method);
      const args = decodeFrame(await bodyOf(request));
      const call = host[method] as (...args: readonly unknown[]) => Promise<unknown>;
      response.end(encodeFrame(await call(...(args.ok ? (args.value as readonly unknown[]) : []))));
      return;
    }
    const served = await record.protocols.get("app")?.(new Request(`app://halation${path}`));
    response.writeHead(served?.status ?? 500, Object.fromEntries(served?.headers ?? []));
    response.end(Buffer.from((await served?.arrayBuffer()) ?? new ArrayBuffer(0)));
  };
  return createServer((request, response) => {
    answer(request, response).catch((error: unknown) => {
      complaints.push(String(error));
      response.destroy();
    });
  });
}

beforeAll(async () => {
  await buildElectron(["electron", "renderer"]);
  const launcher = resolve(import.meta.dirname, "../../../electron/launch/chromium.mjs");
  const { findChromium } = (await import(launcher)) as { findChromium: () => string | undefined };
  const executablePath = findChromium();
  if (executablePath === undefined) throw new Error("this test needs Chromium: install it, or set CHROMIUM");
  const standin = await startElectronHost({ userData: join(root, "data"), documents: root }, [SAMPLE]);
  server = bridge(standin);
  await new Promise<void>((done) => server.listen(0, "127.0.0.1", done));
  browser = await chromium.launch({ executablePath, args: ["--use-angle=swiftshader", "--no-sandbox"] });
  page = await browser.newPage();
  page.on("console", (message) => {
    if (message.type() === "error") complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(String(error)));
  await page.goto(`http://127.0.0.1:${(server.address() as AddressInfo).port}/`);
}, 180_000);

afterAll(async () => {
  await browser?.close();
  server?.closeAllConnections();
  server?.close();
});

it("shows the frame that the program was started with, under the policy of the window's scheme", async () => {
  await page.getByText("spheres.h5").first().waitFor({ timeout: 30_000 });
  await expect.poll(() => called, { timeout: 30_000 }).toContain("readBytes");
  expect(called.slice(0, 3)).toEqual(expect.arrayContaining(["info", "launchRequest"]));
  expect(await page.evaluate("crossOriginIsolated")).toBe(true);
  expect(complaints).toEqual([]);
  // What a page could be tricked into writing does not run.
  const ran = await page.evaluate(`(() => {
    const script = document.createElement("script");
    script.textContent = "window.ran = true";
    document.head.append(script);
    return window.ran === true;
  })()`);
  expect(ran).toBe(false);
}, 90_000);

import { vi } from "vitest";
import type { WindowHost } from "../../../core/host-contract.ts";
import { connectBrowserHost } from "../../../renderer/host/browser-host-client.ts";

/** Server-Sent Events as far as the client uses them. */
class EventStream extends EventTarget {
  readonly #abort = new AbortController();

  constructor(url: string) {
    super();
    this.#read(url).catch((error: unknown) => {
      if (!this.#abort.signal.aborted) throw error;
    });
  }

  close(): void {
    this.#abort.abort();
  }

  async #read(url: string): Promise<void> {
    const response = await fetch(url, { signal: this.#abort.signal });
    if (response.body === null) return;
    let text = "";
    for await (const piece of response.body.pipeThrough(new TextDecoderStream())) {
      text += piece;
      for (let end = text.indexOf("\n\n"); end >= 0; end = text.indexOf("\n\n")) {
        const lines = text.slice(0, end).split("\n");
        text = text.slice(end + 2);
        const event = lines.find((line) => line.startsWith("event: "))?.slice(7);
        const data = lines.find((line) => line.startsWith("data: "))?.slice(6);
        if (event !== undefined) this.dispatchEvent(new MessageEvent(event, { data }));
      }
    }
  }
}

export interface Page {
  readonly host: WindowHost;
  /** Address that the page shows after it has taken its token. */
  readonly shown: () => string;
  close(): void;
}

/** A page at this address, as far as the client needs one: relative addresses, cookies, an origin, an event stream. */
export async function openPage(address: string, windowId = "window-1"): Promise<Page> {
  const page = new URL(address);
  let cookie = "";
  const streams: EventStream[] = [];
  const realFetch = globalThis.fetch;
  vi.stubGlobal("fetch", async (path: string, init: RequestInit = {}) => {
    const headers = new Headers(init.headers);
    if (cookie !== "") headers.set("Cookie", cookie);
    if (init.method === "POST") headers.set("Origin", page.origin);
    headers.set("Sec-Fetch-Site", "same-origin");
    const response = await realFetch(new URL(path, page), { ...init, headers });
    const [set] = response.headers.getSetCookie();
    if (set !== undefined) cookie = set.split(";", 1)[0] ?? "";
    return response;
  });
  vi.stubGlobal("location", page);
  vi.stubGlobal("history", {
    replaceState: (_state: unknown, _title: string, path: string) => {
      page.hash = "";
      page.pathname = path;
    },
  });
  vi.stubGlobal(
    "EventSource",
    class extends EventStream {
      constructor(url: string) {
        super(url);
        streams.push(this);
      }
    },
  );
  const host = await connectBrowserHost(windowId);
  return {
    host,
    shown: () => page.href,
    close() {
      for (const stream of streams) stream.close();
      vi.unstubAllGlobals();
    },
  };
}

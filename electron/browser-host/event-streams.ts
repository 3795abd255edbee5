import type { ServerResponse } from "node:http";

/** Keeps a stream from being taken for dead, and finds out when it is. */
const HEARTBEAT_MS = 15_000;

/** The open event streams, one a window. When the last has been gone for a while, the windows are closed. */
export class EventStreams {
  readonly #open = new Map<ServerResponse, string | null>();
  readonly #heartbeat: NodeJS.Timeout;
  readonly #idle_ms: number;
  readonly #onIdle: () => void;
  readonly #onGone: (window: string) => void;
  #idleTimer: NodeJS.Timeout | undefined;

  /** @param idle_ms a reload closes the stream and opens it again: shorter than that is no goodbye */
  constructor(idle_ms: number, onIdle: () => void, onGone: (window: string) => void = () => {}) {
    this.#idle_ms = idle_ms;
    this.#onIdle = onIdle;
    this.#onGone = onGone;
    this.#heartbeat = setInterval(() => this.#write(": still here\n\n"), HEARTBEAT_MS);
    this.#heartbeat.unref();
  }

  /** @param window its id; null: it names none */
  add(response: ServerResponse, window: string | null): void {
    clearTimeout(this.#idleTimer);
    this.#open.set(response, window);
    response.on("close", () => {
      this.#open.delete(response);
      if (window !== null && ![...this.#open.values()].includes(window)) this.#onGone(window);
      if (this.#open.size === 0) this.#idleTimer = setTimeout(this.#onIdle, this.#idle_ms);
    });
    response.write(": hello\n\n");
  }

  send(event: string, detail: unknown): void {
    this.#write(`event: ${event}\ndata: ${JSON.stringify(detail)}\n\n`);
  }

  close(): void {
    clearInterval(this.#heartbeat);
    for (const response of this.#open.keys()) response.destroy();
    clearTimeout(this.#idleTimer);
  }

  #write(text: string): void {
    for (const response of this.#open.keys()) response.write(text);
  }
}

import type { Answer } from "../worker/protocol.ts";

export type ReadFrame = Answer<"read-frame">;

/** Frames that were read ahead or seen a while ago, the newest last, up to so many bytes. */
export class FrameStore {
  readonly #most: number;
  readonly #frames = new Map<string, ReadFrame>();
  #bytes = 0;

  constructor(most: number) {
    this.#most = most;
  }

  has(key: string): boolean {
    return this.#frames.has(key);
  }

  get(key: string): ReadFrame | undefined {
    const frame = this.#frames.get(key);
    if (frame === undefined) return undefined;
    // Seen again: the last to go.
    this.#frames.delete(key);
    this.#frames.set(key, frame);
    return frame;
  }

  /** The newest frame stays, however large it is. */
  put(key: string, frame: ReadFrame): void {
    this.#drop(key);
    this.#frames.set(key, frame);
    this.#bytes += frame.counts.byteLength;
    for (const [oldest] of this.#frames) {
      if (this.#bytes <= this.#most || oldest === key) break;
      this.#drop(oldest);
    }
  }

  clear(): void {
    this.#frames.clear();
    this.#bytes = 0;
  }

  get bytes(): number {
    return this.#bytes;
  }

  #drop(key: string): void {
    this.#bytes -= this.#frames.get(key)?.counts.byteLength ?? 0;
    this.#frames.delete(key);
  }
}

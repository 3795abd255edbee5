const BAR_WIDTH = 24;
const SHORTEST_REDRAW_MS = 50;

export interface ProgressBar {
  show(fraction: number, what: string): void;
  /** Takes the bar off the line, so that something else can be written there. */
  clear(): void;
}

/** A bar on a terminal; silent where standard error is a file or a pipe. */
export function progressBar(stream: {
  readonly isTTY?: boolean;
  readonly columns?: number;
  write(text: string): unknown;
}): ProgressBar {
  let last = 0;
  let isShown = false;
  const clear = () => {
    // Back to the start of the line, and erase to its end.
    if (isShown) stream.write("\r\u001b[K");
    isShown = false;
  };
  return {
    clear,
    show(fraction, what) {
      const now = Date.now();
      if (stream.isTTY !== true || (now - last < SHORTEST_REDRAW_MS && fraction < 1)) return;
      last = now;
      const part = Math.min(1, Math.max(0, fraction));
      const filled = Math.round(part * BAR_WIDTH);
      const bar = `${"█".repeat(filled)}${"░".repeat(BAR_WIDTH - filled)}`;
      const line = `${bar} ${String(Math.floor(part * 100)).padStart(3)} %  ${what}`;
      stream.write(`\r\u001b[K${line.slice(0, Math.max(20, (stream.columns ?? 80) - 1))}`);
      isShown = true;
    },
  };
}

/** Longest stretch of work without a look at what else is asked, ms. */
const STRETCH = 12;

/** Runs work in parts; between stretches other messages of the worker get their turn. */
export async function inParts<T>(parts: Generator<undefined, T>, signal: AbortSignal): Promise<T> {
  let since = performance.now();
  for (;;) {
    const next = parts.next();
    if (next.done === true) return next.value;
    if (performance.now() - since < STRETCH) continue;
    await new Promise((resolve) => setTimeout(resolve, 0));
    signal.throwIfAborted();
    since = performance.now();
  }
}

import type { Page } from "@playwright/test";

/** A question of the page to its worker; times are the page's own, ms since it began to load. */
export interface Answered {
  readonly kind: string;
  readonly asked: number;
  readonly answered: number;
  /** The picture after the answer was handed over. */
  readonly painted: number;
  /** What the worker says that it took, where it says so. */
  readonly worker: number | undefined;
}

declare global {
  interface Window {
    answers: Answered[];
  }
}

/** Before the page loads: notes every question, its answer, and when its effect was painted. */
export async function watchAnswers(page: Page): Promise<void> {
  await page.addInitScript(() => {
    window.answers = [];
    const open = new Map<number, { readonly kind: string; readonly asked: number }>();
    const watched = new WeakSet<Worker>();
    const post = Worker.prototype.postMessage;
    Worker.prototype.postMessage = function (this: Worker, message: { readonly id: number; readonly kind: string }) {
      if (!watched.has(this)) {
        watched.add(this);
        this.addEventListener("message", ({ data }) => {
          const question = open.get(data.id);
          if (question === undefined || data.kind !== "answer") return;
          open.delete(data.id);
          const answered = performance.now();
          const worker = data.result.value?.duration_ms;
          // What the answer changes is drawn in the next frame; the frame after that begins when it is handed over.
          requestAnimationFrame(() =>
            requestAnimationFrame(() =>
              window.answers.push({ ...question, answered, painted: performance.now(), worker }),
            ),
          );
        });
      }
      open.set(message.id, { kind: message.kind, asked: performance.now() });
      // biome-ignore lint/complexity/noArguments: whatever it was called with
      return Reflect.apply(post, this, arguments);
    };
  });
}

/** The answers of one kind since the list was emptied. */
export function answersOf(page: Page, kind: string): Promise<readonly Answered[]> {
  return page.evaluate((wanted) => window.answers.filter((answer) => answer.kind === wanted), kind);
}

export function forgetAnswers(page: Page): Promise<void> {
  return page.evaluate(() => {
    window.answers = [];
  });
}

/** How long HDF5 may compute on one call without a sign of life, s. The largest frame, packed, has its size on top. */
export const READING_LIMIT_S = 5;
/** Between two looks at a worker that gives no sign of life, ms. */
const LOOK_EVERY_MS = 2400;
/** No machine is so busy that a file takes this long, s. */
export const LONGEST_READING_S = 120;

export interface ReadingClockOptions {
  /** Part of a processor, 0 to 1, that a computing worker gets at the moment. */
  readonly share: () => Promise<number>;
  /** The worker has computed for longer than it may. */
  readonly onOver: () => void;
}

/**
 * Counts what a worker has computed since its last sign of life. Time on the wall is no measure of that: on a machine that
 * is busy with other things a good file takes many times longer, so each stretch counts by the share of a processor that
 * a worker gets then.
 */
export class ReadingClock {
  readonly #options: ReadingClockOptions;
  #turn: object | undefined;
  #timer: ReturnType<typeof setTimeout> | undefined;

  constructor(options: ReadingClockOptions) {
    this.#options = options;
  }

  /** Counts anew from here. @param more seconds that this call may take beyond the limit */
  start(more = 0): void {
    this.stop();
    const turn = {};
    this.#turn = turn;
    const began = performance.now();
    this.#look(turn, { began, last: began, counted_s: 0, limit_s: READING_LIMIT_S + more });
  }

  stop(): void {
    clearTimeout(this.#timer);
    this.#turn = undefined;
  }

  #look(turn: object, state: State): void {
    this.#timer = setTimeout(async () => {
      const share = await this.#options.share();
      if (this.#turn !== turn) return;
      const now = performance.now();
      const counted_s = state.counted_s + ((now - state.last) / 1000) * share;
      if (counted_s < state.limit_s && now - state.began < LONGEST_READING_S * 1000) {
        this.#look(turn, { ...state, last: now, counted_s });
        return;
      }
      this.stop();
      this.#options.onOver();
    }, LOOK_EVERY_MS);
  }
}

interface State {
  readonly began: number;
  readonly last: number;
  readonly counted_s: number;
  readonly limit_s: number;
}

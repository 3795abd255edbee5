/** Q from `low` to `high`, 1/angstrom; `low` < `high`. */
export interface QSpan {
  readonly low: number;
  readonly high: number;
}

/** Where one span follows another on the axis of Q. */
export interface Seam extends QSpan {
  /** Places in the list of spans: whose upper end this is, and whose lower end. */
  readonly below: number;
  readonly above: number;
  /** An overlap is seen by both and lets them be merged; a gap by neither. */
  readonly kind: "overlap" | "gap";
}

/**
 * The seams between spans in the order of their lower ends: each span against the one that reaches farthest so far.
 * Spans that only touch have an overlap of no width.
 */
export function seamsOf(spans: readonly QSpan[]): readonly Seam[] {
  const order = spans.map((_, i) => i).sort((a, b) => spanAt(spans, a).low - spanAt(spans, b).low || a - b);
  const [first] = order;
  if (first === undefined) return [];
  let farthest = first;
  const seams: Seam[] = [];
  for (const place of order.slice(1)) {
    const { low, high } = spanAt(spans, place);
    const reached = spanAt(spans, farthest).high;
    seams.push(
      low > reached
        ? { below: farthest, above: place, kind: "gap", low: reached, high: low }
        : { below: farthest, above: place, kind: "overlap", low, high: Math.min(high, reached) },
    );
    if (high > reached) farthest = place;
  }
  return seams;
}

function spanAt(spans: readonly QSpan[], place: number): QSpan {
  const span = spans[place];
  if (span === undefined) throw new RangeError(`there is no span ${place}`);
  return span;
}

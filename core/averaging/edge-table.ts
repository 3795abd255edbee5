const CELLS = 16384;

/**
 * Finds the bin of a value without searching: equal cells over the range of the edges, each knowing how many edges lie
 * in the cells before it, then one or two comparisons. The same answer as comparing with every edge: bins are [low,
 * high), the last one closed. The public arrays are for kernels that write `locate` out in their loop.
 */
export class EdgeTable {
  readonly count: number;
  /** `locate` without its range test needs base <= value < `end`. */
  readonly base: number;
  readonly end: number;
  readonly scale: number;
  /** Edges with the last moved up by one bit, so that a closed bin becomes half-open; then Infinity, to end the search. */
  readonly edges: Float64Array;
  /** Number of edges in earlier cells; one spare cell takes a value whose cell rounds up to the count. */
  readonly guess: Int32Array;
  private readonly first: number;

  /**
   * @param edges finite, ascending (equal neighbours are bins that hold nothing)
   * @param base where the cells start: at most the first edge
   * @throws RangeError on edges that aren't so
   */
  constructor(edges: Float64Array, base: number = edges[0] ?? Number.NaN) {
    for (let k = 0; k < edges.length; k++)
      if (!(Number.isFinite(edges[k]) && (k === 0 || edges[k]! >= edges[k - 1]!)))
        throw new RangeError(`edge ${k} is ${edges[k]}: edges must be finite and ascend`);
    if (!(edges.length >= 2 && base <= edges[0]!))
      throw new RangeError(`${edges.length} edges from ${edges[0]}, base ${base}: at least 2, and none below the base`);
    this.count = edges.length - 1;
    this.base = base;
    this.first = edges[0]!;
    this.end = nextUp(edges[this.count]!);
    this.scale = CELLS / (this.end - base);
    this.edges = new Float64Array(edges.length + 1).fill(Number.POSITIVE_INFINITY);
    this.edges.set(edges);
    this.edges[this.count] = this.end;
    this.guess = new Int32Array(CELLS + 2);
    // By the cell that each edge falls into, not by comparing with the cells' limits: products round, cells are monotone.
    for (let k = 0; k <= this.count; k++) this.guess[this.cell(this.edges[k]!) + 1]!++;
    for (let cell = 0; cell <= CELLS; cell++) this.guess[cell + 1]! += this.guess[cell]!;
  }

  /** @returns the bin, or -1 outside all of them (NaN too) */
  locate(value: number): number {
    if (!(value >= this.first && value < this.end)) return -1;
    let k = this.guess[this.cell(value)]!;
    while (value >= this.edges[k]!) k++;
    return k - 1;
  }

  private cell(value: number): number {
    return ((value - this.base) * this.scale) | 0;
  }
}

/** The next larger number. @param value finite */
export function nextUp(value: number): number {
  const bits = new BigInt64Array(1);
  const number = new Float64Array(bits.buffer);
  number[0] = value + 0; // -0 becomes 0
  bits[0]! += value >= 0 ? 1n : -1n;
  return number[0]!;
}

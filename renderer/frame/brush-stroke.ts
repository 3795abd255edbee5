import type { MaskShape } from "../../core/plan/plan.ts";
import type { ArrayPoint } from "../view-types.ts";
import type { Size } from "./display-transform.ts";

type Corner = readonly [number, number];

/** The pixels that a stroke of the brush has touched: those whose centre came within the radius of its path. */
export class BrushStroke {
  readonly #size: Size;
  readonly #radius: number;
  readonly #painted = new Set<number>();
  #last: ArrayPoint | undefined;

  constructor(size: Size, radius: number) {
    if (!(radius > 0)) throw new RangeError(`brush radius must be > 0 px, not ${radius}`);
    this.#size = size;
    this.#radius = radius;
  }

  get pixels(): ReadonlySet<number> {
    return this.#painted;
  }

  /** Paints from the last point to this one. */
  to(point: ArrayPoint): void {
    const from = this.#last ?? point;
    this.#last = point;
    const { width, height } = this.#size;
    const r = this.#radius;
    const dx = point.x - from.x;
    const dy = point.y - from.y;
    const square = dx * dx + dy * dy;
    const firstRow = Math.max(0, Math.ceil(Math.min(from.y, point.y) - r));
    const lastRow = Math.min(height - 1, Math.floor(Math.max(from.y, point.y) + r));
    const firstColumn = Math.max(0, Math.ceil(Math.min(from.x, point.x) - r));
    const lastColumn = Math.min(width - 1, Math.floor(Math.max(from.x, point.x) + r));
    for (let y = firstRow; y <= lastRow; y++) {
      for (let x = firstColumn; x <= lastColumn; x++) {
        const along = square === 0 ? 0 : ((x - from.x) * dx + (y - from.y) * dy) / square;
        const t = Math.min(1, Math.max(0, along));
        const ex = x - from.x - t * dx;
        const ey = y - from.y - t * dy;
        if (ex * ex + ey * ey <= r * r) this.#painted.add(y * width + x);
      }
    }
    // A brush narrower than a pixel still paints the pixel it is on.
    const x = Math.round(point.x);
    const y = Math.round(point.y);
    if (x >= 0 && y >= 0 && x < width && y < height) this.#painted.add(y * width + x);
  }

  /** The stroke as one polygon that holds exactly its pixel centres; undefined when nothing was painted. */
  shape(): Extract<MaskShape, { kind: "polygon" }> | undefined {
    const loops = outlines(this.#painted, this.#size.width);
    const [first, ...rest] = loops;
    if (!first) return undefined;
    // Further loops (holes, islands) hang on a bridge that is walked there and back: by the even-odd rule it encloses
    // nothing. Bridges keep to pixel edges, so that no pixel centre lies on one.
    const points: Corner[] = [...first];
    const start = first[0] as Corner;
    points.push(start);
    for (const loop of rest) {
      const entry = loop[0] as Corner;
      const corner: Corner = [entry[0], start[1]];
      points.push(corner, ...loop, entry, corner, start);
    }
    points.pop();
    return { kind: "polygon", points };
  }
}

/**
 * Closed outlines of a set of pixels along pixel edges (half-integer coordinates), corners only. Each edge is walked with
 * the set on its left.
 */
export function outlines(pixels: ReadonlySet<number>, width: number): Corner[][] {
  // Edges leave from corner (cx, cy), the lower left corner of pixel (cx, cy); 0 right, 1 up, 2 left, 3 down.
  const stride = width + 1;
  const leaving = new Map<number, number[]>();
  const has = (x: number, y: number): boolean => x >= 0 && x < width && y >= 0 && pixels.has(y * width + x);
  const add = (cx: number, cy: number, direction: number): void => {
    const key = cy * stride + cx;
    const known = leaving.get(key);
    if (known) known.push(direction);
    else leaving.set(key, [direction]);
  };
  for (const p of pixels) {
    const x = p % width;
    const y = (p - x) / width;
    if (!has(x, y - 1)) add(x, y, 0);
    if (!has(x + 1, y)) add(x + 1, y, 1);
    if (!has(x, y + 1)) add(x + 1, y + 1, 2);
    if (!has(x - 1, y)) add(x, y + 1, 3);
  }
  const loops: Corner[][] = [];
  for (const start of leaving.keys()) {
    while ((leaving.get(start)?.length ?? 0) > 0) loops.push(walk(leaving, start, stride));
  }
  return loops;
}

const STEP_X = [1, 0, -1, 0] as const;
const STEP_Y = [0, 1, 0, -1] as const;

function walk(leaving: Map<number, number[]>, start: number, stride: number): Corner[] {
  const corners: Corner[] = [];
  let at = start;
  let before = -1;
  const firstDirection = (leaving.get(start) as number[])[0] as number;
  do {
    const choices = leaving.get(at) as number[];
    // Where two pixels touch at a corner, turn left: the outline then stays with one pixel.
    const i = Math.max(0, before < 0 ? 0 : choices.indexOf((before + 1) % 4));
    const direction = choices.splice(i, 1)[0] as number;
    if (direction !== before) corners.push([(at % stride) - 0.5, Math.floor(at / stride) - 0.5]);
    before = direction;
    at += (STEP_X[direction] as number) + (STEP_Y[direction] as number) * stride;
  } while (at !== start);
  // The start is a corner only if the outline turns there.
  if (before === firstDirection) corners.shift();
  return corners;
}

import { MASK_REASONS } from "./mask.ts";
import type { MaskShape } from "./plan.ts";

/**
 * Bits of the pixels that the shapes cover (MASK_REASONS.shape), in array coordinates whatever the row order: x is the
 * column, y the row, a pixel stands for its centre at integers.
 *
 * - circle: centres at a distance <= r; outside-circle: the others.
 * - rectangle: x <= column < x + width, y <= row < y + height.
 * - polygon: even-odd rule, closed by itself. A centre that lies exactly on an edge belongs to the polygon where the
 *   inside is on its right or above (larger x, larger y), so that the polygon (0,0) (5,0) (5,5) (0,5) is the rectangle
 *   0, 0, 5, 5 and two polygons that share an edge share no pixel.
 *
 * @param out OR-ed into and returned; row-major, width * height entries
 * @throws RangeError on a shape that holds a number that is not finite, and where `out` has another length
 */
export function shapeMask(
  shapes: readonly MaskShape[],
  width: number,
  height: number,
  out: Uint16Array = new Uint16Array(width * height),
): Uint16Array {
  if (out.length !== width * height) throw new RangeError(`mask of ${out.length} pixels for ${width} x ${height}`);
  for (const shape of shapes) {
    requireFinite(shape);
    switch (shape.kind) {
      case "circle":
        fillCircle(shape, width, height, out);
        break;
      case "outside-circle":
        fillOutsideCircle(shape, width, height, out);
        break;
      case "rectangle":
        fillRectangle(shape, width, height, out);
        break;
      case "polygon":
        fillPolygon(shape.points, width, height, out);
        break;
    }
  }
  return out;
}

/** The outermost `edge` rows and columns (MASK_REASONS.edge). @throws RangeError unless `edge` is a whole number >= 0 */
export function edgeMask(width: number, height: number, edge: number): Uint16Array {
  if (!(Number.isInteger(edge) && edge >= 0)) throw new RangeError(`edge must be a whole number >= 0, not ${edge}`);
  const mask = new Uint16Array(width * height);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      if (x < edge || y < edge || x >= width - edge || y >= height - edge) mask[y * width + x] = MASK_REASONS.edge;
    }
  }
  return mask;
}

type Shape<K extends MaskShape["kind"]> = Extract<MaskShape, { kind: K }>;

function requireFinite(shape: MaskShape): void {
  const numbers = shape.kind === "polygon" ? shape.points.flat() : Object.values(shape).filter((v) => v !== shape.kind);
  if (!numbers.every(Number.isFinite)) throw new RangeError(`a ${shape.kind} with a number that is not finite`);
}

function fillCircle({ x, y, r }: Shape<"circle">, width: number, height: number, out: Uint16Array): void {
  if (r < 0) return;
  const lastRow = Math.min(height - 1, Math.floor(y + r));
  for (let row = Math.max(0, Math.ceil(y - r)); row <= lastRow; row++) {
    for (let column = Math.max(0, Math.ceil(x - r)); column <= Math.min(width - 1, x + r); column++) {
      if (isWithin(column - x, row - y, r)) out[row * width + column]! |= MASK_REASONS.shape;
    }
  }
}

function fillOutsideCircle(
  { x, y, r }: Shape<"outside-circle">,
  width: number,
  height: number,
  out: Uint16Array,
): void {
  for (let row = 0; row < height; row++) {
    for (let column = 0; column < width; column++) {
      if (r < 0 || !isWithin(column - x, row - y, r)) out[row * width + column]! |= MASK_REASONS.shape;
    }
  }
}

function isWithin(dx: number, dy: number, r: number): boolean {
  return dx * dx + dy * dy <= r * r;
}

function fillRectangle(shape: Shape<"rectangle">, width: number, height: number, out: Uint16Array): void {
  for (let row = Math.max(0, Math.ceil(shape.y)); row < Math.min(height, shape.y + shape.height); row++) {
    for (let column = Math.max(0, Math.ceil(shape.x)); column < Math.min(width, shape.x + shape.width); column++) {
      out[row * width + column]! |= MASK_REASONS.shape;
    }
  }
}

function fillPolygon(
  points: readonly (readonly [number, number])[],
  width: number,
  height: number,
  out: Uint16Array,
): void {
  const crossings: number[] = [];
  for (let row = 0; row < height; row++) {
    crossings.length = 0;
    for (let i = 0, j = points.length - 1; i < points.length; j = i++) {
      const [xi, yi] = points[i]!;
      const [xj, yj] = points[j]!;
      // Half open in y, so that a vertex on the row is counted once.
      if (yi > row !== yj > row) crossings.push(xi + ((row - yi) * (xj - xi)) / (yj - yi));
    }
    crossings.sort((a, b) => a - b);
    for (let k = 0; k + 1 < crossings.length; k += 2) {
      const end = Math.min(width, crossings[k + 1]!);
      for (let column = Math.max(0, Math.ceil(crossings[k]!)); column < end; column++) {
        out[row * width + column]! |= MASK_REASONS.shape;
      }
    }
  }
}

/**
 * The points that a screen can show: of each pixel column the first, the last, the lowest and the highest. What is drawn
 * through them looks the same as all points would, and costs as much as the screen is wide.
 * @param x screen positions, CSS px, in rising order where the curve's abscissa rises
 * @returns indices in their order; all of them where there are no more than four a column
 */
export function thinned(x: Float64Array, y: Float64Array, drawable: Uint8Array): Int32Array {
  const n = x.length;
  let count = 0;
  let columns = 0;
  let column = Number.NaN;
  for (let i = 0; i < n; i++) {
    if (drawable[i] === 0) continue;
    count++;
    const here = Math.floor(x[i] as number);
    if (here !== column) columns++;
    column = here;
  }
  const kept: number[] = [];
  if (count <= 4 * columns) {
    for (let i = 0; i < n; i++) if (drawable[i] !== 0) kept.push(i);
    return Int32Array.from(kept);
  }
  let first = -1;
  let last = -1;
  let lowest = -1;
  let highest = -1;
  const flush = (): void => {
    if (first < 0) return;
    for (const i of [first, lowest, highest, last].sort((a, b) => a - b)) {
      if (kept[kept.length - 1] !== i) kept.push(i);
    }
  };
  column = Number.NaN;
  for (let i = 0; i < n; i++) {
    if (drawable[i] === 0) continue;
    const here = Math.floor(x[i] as number);
    if (here !== column) {
      flush();
      first = lowest = highest = i;
      column = here;
    }
    last = i;
    if ((y[i] as number) < (y[lowest] as number)) lowest = i;
    if ((y[i] as number) > (y[highest] as number)) highest = i;
  }
  flush();
  return Int32Array.from(kept);
}

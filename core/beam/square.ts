/** x * x. Not `x ** 2`: powers may differ in the last bit from one machine to another, products don't. */
export function square(x: number): number {
  return x * x;
}

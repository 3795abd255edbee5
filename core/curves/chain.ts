import { exp } from "../model/steady-math.ts";
/**
 * Form factor of a Gaussian chain, 2 (e^-x + x - 1)/x^2 with x = (Q Rg)^2; 1 at x = 0.
 *
 * Below 1e-3 by the series 1 - x/3 + x^2/12. Source: Debye 1947, J. Phys. Colloid Chem. 51, 18 (from memory).
 */
export function chainFormFactor(x: number): number {
  if (x < 1e-3) return 1 - x / 3 + (x * x) / 12;
  return (2 * (exp(-x) + x - 1)) / (x * x);
}

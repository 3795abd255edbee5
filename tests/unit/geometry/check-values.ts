import { hasShared, reference } from "../../support/shared-data.ts";

export const CHECK_VALUES_ABSENT = !hasShared("reference-values.json");

/** Every plain number that the tests take from the table. An entry has a few of them. */
type Numbers = Readonly<
  Record<
    | "B_per_m_per_A2"
    | "E_meV"
    | "FWHM"
    | "L1_m"
    | "L2_m"
    | "L_m"
    | "NA"
    | "Q_invA"
    | "Qcorner"
    | "Qedge"
    | "Qmin"
    | "Qx"
    | "Qy"
    | "Qz"
    | "T_K"
    | "barn_cm2"
    | "beamstop_radius_m"
    | "col"
    | "cos3_sr"
    | "dOmega_sr"
    | "d_corner_nm"
    | "dl_FWHM"
    | "dmax_nm"
    | "drop_mm"
    | "drop_noCollimation_mm"
    | "e"
    | "exact_sr"
    | "g"
    | "gaussian"
    | "h_Js"
    | "kB"
    | "k_invA"
    | "lambda_A"
    | "mn_kg_2022"
    | "path_m"
    | "phi_deg"
    | "rectangular_full_width"
    | "rel_diff"
    | "relative_shift_mm"
    | "row"
    | "sigma_Q"
    | "sigma_Q_smallangle"
    | "sigma_Q_wide"
    | "sigma_y_mm_dl10pct_14A"
    | "sum_cos3_sr"
    | "sum_exact_sr"
    | "tof_ms"
    | "tof_us_per_m"
    | "triangular"
    | "twoTheta_deg"
    | "twoTheta_rad"
    | "v_m_per_s"
    | "x_m"
    | "y_m",
    number
  >
>;

/** Inputs and expected numbers of an entry of the check values; only for tests that are skipped where they are absent. */
export function checkValues<Inputs = Numbers, Expected = Numbers>(
  id: string,
): { readonly inputs: Inputs; readonly expected: Expected } {
  const entry = reference(id);
  if (entry === undefined) throw new Error(`check value ${id} is absent`);
  return entry as unknown as { readonly inputs: Inputs; readonly expected: Expected };
}

/** Largest relative difference between two numbers. */
export function relative(got: number, wanted: number): number {
  return Math.abs(got - wanted) / Math.abs(wanted);
}

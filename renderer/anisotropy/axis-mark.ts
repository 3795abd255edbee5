/** Direction of strongest scattering: rad, and one standard deviation. */
export interface AxisMark {
  readonly phi: number;
  readonly sigma: number;
  /** Where the annulus ends that it was measured in, 1/angstrom: its label stands outside. */
  readonly qMax: number;
}

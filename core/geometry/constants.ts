/** Exact SI constants and the neutron: CODATA 2022 recommended values. */
export const PLANCK_CONSTANT = 6.62607015e-34; // J s, exact
export const NEUTRON_MASS = 1.67492750056e-27; // kg; CODATA 2018 has ...49804, 1.5e-9 less
export const BOLTZMANN_CONSTANT = 1.380649e-23; // J/K, exact
export const ELEMENTARY_CHARGE = 1.602176634e-19; // C, exact
export const AVOGADRO_CONSTANT = 6.02214076e23; // 1/mol, exact
/** Conventional standard value, m/s^2; the local one differs by up to 0.3 %. */
export const STANDARD_GRAVITY = 9.80665;
/** cm^2 */
export const BARN = 1e-24;

const ANGSTROM = 1e-10; // m
/** Speed of a neutron of 1 angstrom, m/s: h / (m lambda). */
const SPEED_AT_1_ANGSTROM = PLANCK_CONSTANT / (NEUTRON_MASS * ANGSTROM);

/** @returns m/s @param wavelength angstrom; > 0 */
export function neutronSpeed(wavelength: number): number {
  return SPEED_AT_1_ANGSTROM / wavelength;
}

/** @returns angstrom @param speed m/s; > 0 */
export function wavelengthOfSpeed(speed: number): number {
  return SPEED_AT_1_ANGSTROM / speed;
}

/** @returns meV @param wavelength angstrom; > 0 */
export function neutronEnergy(wavelength: number): number {
  const speed = neutronSpeed(wavelength);
  return ((NEUTRON_MASS * speed * speed) / 2 / ELEMENTARY_CHARGE) * 1000;
}

/** Temperature whose k_B T is the neutron's energy. @returns K @param wavelength angstrom; > 0 */
export function neutronTemperature(wavelength: number): number {
  const speed = neutronSpeed(wavelength);
  return (NEUTRON_MASS * speed * speed) / 2 / BOLTZMANN_CONSTANT;
}

/** Time over a path. @returns s @param wavelength angstrom @param path m */
export function timeOfFlight(wavelength: number, path: number): number {
  return path / neutronSpeed(wavelength);
}

/** 2 pi / lambda. @returns 1/angstrom @param wavelength angstrom; > 0 */
export function waveNumber(wavelength: number): number {
  return (2 * Math.PI) / wavelength;
}

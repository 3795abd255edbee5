import { describe, expect, it } from "vitest";
import {
  AVOGADRO_CONSTANT,
  BARN,
  BOLTZMANN_CONSTANT,
  ELEMENTARY_CHARGE,
  NEUTRON_MASS,
  neutronEnergy,
  neutronSpeed,
  neutronTemperature,
  PLANCK_CONSTANT,
  STANDARD_GRAVITY,
  timeOfFlight,
  wavelengthOfSpeed,
  waveNumber,
} from "../../../core/geometry/constants.ts";
import { CHECK_VALUES_ABSENT, checkValues, relative } from "./check-values.ts";

// Two CODATA adjustments differ by 1.5e-9 in the neutron's mass.
const CODATA_YEAR = 1e-8;

describe.skipIf(CHECK_VALUES_ABSENT)("constants", () => {
  it("are those of CODATA 2022", () => {
    const { expected } = checkValues("const.codata");
    expect(PLANCK_CONSTANT).toBe(expected.h_Js);
    expect(NEUTRON_MASS).toBe(expected.mn_kg_2022);
    expect(BOLTZMANN_CONSTANT).toBe(expected.kB);
    expect(ELEMENTARY_CHARGE).toBe(expected.e);
    expect(AVOGADRO_CONSTANT).toBe(expected.NA);
    expect(STANDARD_GRAVITY).toBe(expected.g);
    expect(BARN).toBe(expected.barn_cm2);
  });

  it("give the kinematics of a neutron of 1 angstrom", () => {
    const { expected } = checkValues("const.vlambda");
    expect(relative(neutronSpeed(1), expected.v_m_per_s)).toBeLessThan(CODATA_YEAR);
    expect(relative(timeOfFlight(1, 1) * 1e6, expected.tof_us_per_m)).toBeLessThan(CODATA_YEAR);
    expect(relative(neutronEnergy(1), expected.E_meV)).toBeLessThan(CODATA_YEAR);
    expect(relative(neutronTemperature(1), expected.T_K)).toBeLessThan(CODATA_YEAR);
    expect(relative(waveNumber(1), expected.k_invA)).toBeLessThan(1e-11);
  });

  it.each(["const.lambda_1.798", "const.lambda_6", "const.lambda_12"])("give %s", (id) => {
    const { inputs, expected } = checkValues(id);
    const wavelength = inputs.lambda_A;
    expect(relative(neutronSpeed(wavelength), expected.v_m_per_s)).toBeLessThan(CODATA_YEAR);
    expect(relative(neutronEnergy(wavelength), expected.E_meV)).toBeLessThan(CODATA_YEAR);
    expect(relative(timeOfFlight(wavelength, inputs.path_m) * 1000, expected.tof_ms)).toBeLessThan(CODATA_YEAR);
  });

  it("give the wavelength of 2200 m/s, the reference of absorption tables", () => {
    const { expected } = checkValues("const.2200");
    expect(relative(wavelengthOfSpeed(2200), expected.lambda_A)).toBeLessThan(CODATA_YEAR);
  });
});

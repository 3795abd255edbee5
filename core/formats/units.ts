/** Kinds of quantity that readers convert, with the factor from each unit to core's own. */
const UNITS = {
  length: {
    m: 1,
    metre: 1,
    meter: 1,
    metres: 1,
    meters: 1,
    cm: 1e-2,
    mm: 1e-3,
    millimetre: 1e-3,
    millimeter: 1e-3,
    um: 1e-6,
    µm: 1e-6,
    μm: 1e-6,
    micron: 1e-6,
    nm: 1e-9,
    pm: 1e-12,
    inch: 0.0254,
    a: 1e-10,
    å: 1e-10,
    ang: 1e-10,
    angstrom: 1e-10,
    angstroms: 1e-10,
  },
  time: {
    s: 1,
    sec: 1,
    second: 1,
    seconds: 1,
    ms: 1e-3,
    us: 1e-6,
    µs: 1e-6,
    μs: 1e-6,
    microsecond: 1e-6,
    microseconds: 1e-6,
    ns: 1e-9,
    min: 60,
    minute: 60,
    minutes: 60,
    h: 3600,
    hour: 3600,
  },
  angle: {
    rad: 1,
    radian: 1,
    radians: 1,
    deg: Math.PI / 180,
    degree: Math.PI / 180,
    degrees: Math.PI / 180,
    "°": Math.PI / 180,
  },
  energy: { mev: 1e-3, ev: 1, kev: 1e3 },
  pixel: { pixel: 1, pixels: 1, px: 1 },
  count: { count: 1, counts: 1, "1": 1, "": 1 },
  /** Units with their zero at absolute zero, to K. */
  temperature: { k: 1, kelvin: 1, mk: 1e-3 },
  /** To T; a gauss in vacuum. */
  magneticField: { t: 1, tesla: 1, mt: 1e-3, g: 1e-4, gauss: 1e-4 },
  /** Inverse lengths, to 1/angstrom. */
  inverseLength: {
    "1/a": 1,
    "1/å": 1,
    "1/ang": 1,
    "1/angstrom": 1,
    "angstrom^-1": 1,
    "a^-1": 1,
    "å^-1": 1,
    "a-1": 1,
    "1/nm": 0.1,
    "nm^-1": 0.1,
    "nm-1": 0.1,
    "1/cm": 1e-8,
    "1/m": 1e-10,
    "m^-1": 1e-10,
  },
} as const satisfies Record<string, Readonly<Record<string, number>>>;

export type UnitKind = keyof typeof UNITS;

/** Letters whose case matters: MeV is not meV. Everything else is folded. */
const CASE_MATTERS: Readonly<Record<string, number | undefined>> = { meV: 1e-3, MeV: 1e6, keV: 1e3, eV: 1 };

/**
 * Factor from a unit as written to core's unit of the kind: m, s, rad, eV, pixels, counts, K, T, 1/angstrom.
 * Undefined where the unit is not of that kind. "A" is angstrom here, as files of the trade mean it, never ampere.
 */
export function unitFactor(kind: UnitKind, unit: string): number | undefined {
  const trimmed = unit.trim();
  if (kind === "energy" && CASE_MATTERS[trimmed] !== undefined) return CASE_MATTERS[trimmed];
  const table: Readonly<Record<string, number>> = UNITS[kind];
  const folded = trimmed.toLowerCase();
  return Object.hasOwn(table, folded) ? table[folded] : undefined;
}

/** The kind a unit belongs to, where there is one. */
export function unitKind(unit: string): UnitKind | undefined {
  return (Object.keys(UNITS) as UnitKind[]).find((kind) => unit.trim() !== "" && unitFactor(kind, unit) !== undefined);
}

/**
 * value * factor, by a division where the factor is one over a whole number, so that 5.5 mm is 0.0055 m to the last bit;
 * a factor that is whole but for its last bits (1e-9 * 1e10) is taken as whole.
 */
export function scaleExactly(value: number, factor: number): number {
  const inverse = 1 / factor;
  if (factor < 1 && isNearlyWhole(inverse)) return value / Math.round(inverse);
  return isNearlyWhole(factor) ? value * Math.round(factor) : value * factor;
}

function isNearlyWhole(number: number): boolean {
  return Math.abs(number - Math.round(number)) <= 4 * Number.EPSILON * number;
}

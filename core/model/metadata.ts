/** A value and where it came from. A guess is marked, shown, and can be overridden by the plan. */
export interface Sourced<T> {
  readonly value: T;
  /** A path in the file, or a key of the plan. */
  readonly from: string;
  /** As the file has it: "0.599996 nm". */
  readonly asWritten?: string;
  readonly guessed?: boolean;
  /** How it was understood: "no unit: taken as pixels". */
  readonly note?: string;
}

/** Numbers of a run, in core's units: metres, seconds, radians, angstrom for the wavelength, pixels for the centre. */
export interface NumericMetadata {
  /** angstrom */
  readonly wavelength?: Sourced<number>;
  /** Full width at half maximum over mean. */
  readonly wavelengthSpread?: Sourced<number>;
  /** Sample to bank along the beam, m. */
  readonly distance?: Sourced<number>;
  /** Pitch along array x (columns) and array y (rows), m. */
  readonly pixelSize?: Sourced<readonly [number, number]>;
  /** Array coordinates (column, row), pixel centres at integers. */
  readonly beamCentre?: Sourced<readonly [number, number]>;
  readonly monitorCounts?: Sourced<number>;
  /** s */
  readonly countTime?: Sourced<number>;
  /** Diameters, m. */
  readonly sourceAperture?: Sourced<number>;
  readonly sampleAperture?: Sourced<number>;
  /** Source aperture to sample, m. */
  readonly collimation?: Sourced<number>;
  /** Rotations of the bank about lab x, then lab y, through the beam centre, rad. */
  readonly tilt?: Sourced<readonly [number, number]>;
  /** m */
  readonly thickness?: Sourced<number>;
  /** Fraction that the attenuator lets through; 1: none. */
  readonly attenuation?: Sourced<number>;
  readonly transmission?: Sourced<number>;
  /** s */
  readonly deadTime?: Sourced<number>;
  /** Of the sample, K. */
  readonly temperature?: Sourced<number>;
  /** At the sample, T; signed. */
  readonly magneticField?: Sourced<number>;
}

export interface TextMetadata {
  readonly title?: Sourced<string>;
  readonly sampleName?: Sourced<string>;
  readonly runNumber?: Sourced<string>;
  readonly startTime?: Sourced<string>;
  readonly endTime?: Sourced<string>;
  readonly instrument?: Sourced<string>;
}

export type RunMetadata = NumericMetadata & TextMetadata;
export type NumericKey = keyof NumericMetadata;

/** How one number is written in plans, in JSON and on screen. Core value = file value * `scale`. */
export interface MetadataField {
  readonly key: NumericKey;
  readonly fileKey: string;
  readonly scale: number;
  readonly length: 1 | 2;
  readonly label: string;
  /** Unit of the file value, for people; "" for a plain number. */
  readonly unit: string;
  /** What the value must satisfy; checked by the plan's schema and again after reading a file. */
  readonly range: "positive" | "not-negative" | "any" | "fraction";
  /**
   * Who waits for it: a reduction; nobody, as most files and plans do without; or only a series of samples, since it is a
   * condition of the sample.
   */
  readonly need: "reduction" | "optional" | "series";
}

const DEGREE = Math.PI / 180;

/** The one table behind the plan's `metadata`, the JSON of `inspect`, the ledger and the window. */
export const METADATA_FIELDS: readonly MetadataField[] = [
  field("wavelength", "wavelength_A", 1, "Wavelength", "Å", "positive"),
  field("wavelengthSpread", "wavelengthSpread", 1, "Wavelength spread (FWHM/mean)", "", "not-negative"),
  field("distance", "distance_m", 1, "Sample to detector", "m", "positive"),
  field("pixelSize", "pixelSize_mm", 1e-3, "Pixel size", "mm", "positive", 2),
  field("beamCentre", "beamCentre_px", 1, "Beam centre", "px", "any", 2),
  field("monitorCounts", "monitorCounts", 1, "Monitor", "counts", "positive"),
  field("countTime", "countTime_s", 1, "Counting time", "s", "positive"),
  field("sourceAperture", "sourceAperture_mm", 1e-3, "Source aperture", "mm", "positive"),
  field("sampleAperture", "sampleAperture_mm", 1e-3, "Sample aperture", "mm", "positive"),
  field("collimation", "collimation_m", 1, "Collimation length", "m", "positive"),
  optional(field("tilt", "tilt_deg", DEGREE, "Detector tilt", "°", "any", 2)),
  field("thickness", "thickness_mm", 1e-3, "Sample thickness", "mm", "positive"),
  optional(field("attenuation", "attenuation", 1, "Attenuator lets through", "", "fraction")),
  optional(field("transmission", "transmission", 1, "Transmission", "", "fraction")),
  optional(field("deadTime", "deadTime_s", 1, "Dead time", "s", "not-negative")),
  { ...field("temperature", "temperature_K", 1, "Temperature", "K", "not-negative"), need: "series" },
  { ...field("magneticField", "magneticField_T", 1, "Magnetic field", "T", "any"), need: "series" },
];

function field(
  key: NumericKey,
  fileKey: string,
  scale: number,
  label: string,
  unit: string,
  range: MetadataField["range"],
  length: 1 | 2 = 1,
): MetadataField {
  return { key, fileKey, scale, length, label, unit, range, need: "reduction" };
}

function optional(entry: MetadataField): MetadataField {
  return { ...entry, need: "optional" };
}

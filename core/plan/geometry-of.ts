import type { Frame } from "../model/frame.ts";
import type { Collimation, Geometry } from "../model/geometry.ts";
import { METADATA_FIELDS, type NumericKey, type RunMetadata, type Sourced } from "../model/metadata.ts";
import { failure, type Result, success } from "../model/result.ts";
import type { RunRole } from "./plan.ts";

/** Where a run's file and role stand, for messages. */
export interface RunPlace {
  readonly role: RunRole;
  readonly file: string;
}

/** The geometry without its beam centre: what files and plan must say before anything else can be known. */
export type BankGeometry = Omit<Geometry, "beamCentre">;

/** @returns a fault that names the plan's key for the first number that is missing or out of range */
export function bankGeometry(frame: Frame, metadata: RunMetadata, place: RunPlace): Result<BankGeometry> {
  const distance = needed(metadata, "distance", place);
  if (!distance.ok) return distance;
  const wavelength = needed(metadata, "wavelength", place);
  if (!wavelength.ok) return wavelength;
  const pixelSize = needed(metadata, "pixelSize", place);
  if (!pixelSize.ok) return pixelSize;
  const tilt = metadata.tilt?.value ?? [0, 0];
  if (!tilt.every((angle) => Math.abs(angle) < Math.PI / 2))
    return refuse("tilt", place, `less than 90 degrees; ${metadata.tilt?.from} says otherwise`);
  const [pixelSizeX, pixelSizeY] = pixelSize.value;
  const { width, height, rowOrder, transpose } = frame;
  return success({
    width,
    height,
    rowOrder,
    transpose,
    distance: distance.value,
    wavelength: wavelength.value,
    pixelSizeX,
    pixelSizeY,
    tilt,
  });
}

/** A run's own numbers where it has them, the sample's where it has not. */
export function geometryLike(sample: Geometry, own: RunMetadata, place: RunPlace): Result<Geometry> {
  for (const key of ["distance", "wavelength", "pixelSize"] as const)
    if (own[key] !== undefined) {
      const found = needed(own, key, place);
      if (!found.ok) return found;
    }
  const differs =
    (own.distance !== undefined && own.distance.value !== sample.distance) ||
    (own.wavelength !== undefined && own.wavelength.value !== sample.wavelength) ||
    (own.pixelSize !== undefined &&
      (own.pixelSize.value[0] !== sample.pixelSizeX || own.pixelSize.value[1] !== sample.pixelSizeY));
  // The very object, so that maps are shared.
  if (!differs) return success(sample);
  const [pixelSizeX, pixelSizeY] = own.pixelSize?.value ?? [sample.pixelSizeX, sample.pixelSizeY];
  return success({
    ...sample,
    pixelSizeX,
    pixelSizeY,
    distance: own.distance?.value ?? sample.distance,
    wavelength: own.wavelength?.value ?? sample.wavelength,
  });
}

export function collimationOf(metadata: RunMetadata): Collimation {
  const { sourceAperture, sampleAperture, collimation, wavelengthSpread } = metadata;
  return {
    ...(sourceAperture && { sourceAperture: sourceAperture.value }),
    ...(sampleAperture && { sampleAperture: sampleAperture.value }),
    ...(collimation && { length: collimation.value }),
    ...(wavelengthSpread && { wavelengthSpread: wavelengthSpread.value }),
  };
}

type Needed = "distance" | "wavelength" | "pixelSize";
type ValueOf<Key extends Needed> = NonNullable<RunMetadata[Key]>["value"];

function needed<Key extends Needed>(metadata: RunMetadata, key: Key, place: RunPlace): Result<ValueOf<Key>> {
  const found: Sourced<number | readonly [number, number]> | undefined = metadata[key];
  if (found === undefined) return refuse(key, place);
  const numbers = typeof found.value === "number" ? [found.value] : found.value;
  if (!numbers.every((x) => x > 0 && x < Infinity))
    return refuse(key, place, `> 0; ${found.from} says ${numbers.join(", ")}`);
  return success(found.value as ValueOf<Key>);
}

/** "the wavelength (Å) of a.npy is not known: set metadata.all.wavelength_A"; `wanted` says what a known one must be. */
export function refuse(key: NumericKey, { role, file }: RunPlace, wanted?: string): ReturnType<typeof failure> {
  const field = METADATA_FIELDS.find((entry) => entry.key === key);
  if (field === undefined) throw new TypeError(`no metadata is called ${key}`);
  const planKey = `metadata.${role === "sample" ? "all" : role}.${field.fileKey}`;
  const name = key === "distance" ? "distance from sample to detector" : field.label.toLowerCase();
  const unit = field.unit === "" ? "" : ` (${field.unit})`;
  const what = wanted === undefined ? "is not known" : `must be ${wanted}`;
  return failure(
    wanted === undefined ? "missing" : "out-of-range",
    `the ${name}${unit} of ${file} ${what}: set ${planKey}`,
    { file, field: planKey },
  );
}

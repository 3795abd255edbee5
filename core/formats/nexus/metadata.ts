import type { RunMetadata, Sourced, TextMetadata } from "../../model/metadata.ts";
import { unitFactor } from "../units.ts";
import { collectApertures } from "./apertures.ts";
import { findCentre } from "./centre.ts";
import { MetadataCollector } from "./collect.ts";
import {
  type Candidate,
  convert,
  type Field,
  fieldOf,
  fromCelsius,
  numberField,
  textField,
  type Wanted,
} from "./fields.ts";
import { collectMonitor } from "./monitor.ts";
import { type Placement, placementOf } from "./transformations.ts";
import { groupsBelow, hasClass, isSet, type Tree, type TreeGroup } from "./tree.ts";

export interface FrameSides {
  readonly width: number;
  readonly height: number;
  readonly transpose: boolean;
}

export interface FoundMetadata {
  readonly run: RunMetadata;
  readonly bank: RunMetadata;
  readonly alternatives: Readonly<Record<string, readonly Sourced<number | string | readonly number[]>[]>>;
  readonly notes: readonly string[];
  readonly warnings: readonly string[];
}

const LENGTH: Wanted = { kind: "length", range: "positive" };
const TIME: Wanted = { kind: "time", range: "positive", bareUnit: "s" };
const RATIO: Wanted = { kind: "count", range: "not-negative", bareUnit: "" };
const WAVELENGTH: Wanted = { kind: "length", range: "positive", scale: 1e10 };
const TEMPERATURE: Wanted = { kind: "temperature", range: "not-negative" };
const MAGNETIC_FIELD: Wanted = { kind: "magneticField", range: "any" };
const DISTANCE_NAMES = ["distance", "SDD", "sdd", "L2"];

/**
 * Everything that the entry says about the run and about one detector, by the paths of NeXus (NXsas, NXdetector,
 * NXmonitor, NXsample) and their common variants. The first value found wins, the others are shown; a value without a
 * unit that it needs is shown and not taken; nothing is filled in.
 */
export function collectMetadata(
  tree: Tree,
  entry: TreeGroup,
  detector: TreeGroup | undefined,
  sides: FrameSides,
): FoundMetadata {
  const out = new MetadataCollector();
  collectWavelength(tree, entry, out);
  const placement = detector === undefined ? undefined : placementOf(tree, detector);
  if (typeof placement === "string") out.warnings.push(placement);
  const placed = typeof placement === "object" ? placement : undefined;
  if (placed !== undefined) offerPlacement(placed, out);
  collectDistance(tree, entry, detector, out);
  collectTimes(tree, entry, detector, out);
  collectMonitor(tree, entry, detector, out);
  collectApertures(tree, entry, out);
  collectSample(tree, entry, out);
  for (const group of groupsBelow(entry, hasClass("NXcollimator"))) {
    for (const name of ["length", "distance"]) out.offer("collimation", numberField(tree, group, name), LENGTH);
  }
  for (const group of groupsBelow(entry, hasClass("NXattenuator"))) {
    out.offer("attenuation", numberField(tree, group, "attenuator_transmission"), { ...RATIO, range: "positive" });
    const selection = numberField(tree, group, "selection");
    if (selection !== undefined)
      out.show("attenuation", {
        value: selection.values[0]!,
        from: selection.path,
        note: "a selection number, not a factor",
      });
  }
  if (detector !== undefined)
    out.offer("deadTime", numberField(tree, detector, "dead_time"), { ...TIME, range: "not-negative" });
  const pixelSize = collectPixelSize(tree, detector, out);
  const centre = findCentre(tree, detector, { ...sides, pixelSize: pixelSize?.value }, out);
  const { distance, deadTime, ...ofRun } = out.taken;
  const bank: RunMetadata = {
    ...(distance !== undefined && { distance }),
    ...(deadTime !== undefined && { deadTime }),
    ...(pixelSize !== undefined && { pixelSize: alongArray(pixelSize, sides.transpose) }),
    ...(centre.centre !== undefined && { beamCentre: centre.centre }),
    ...(placed?.tilt.some((angle) => angle !== 0) === true && {
      tilt: { value: placed.tilt, from: placed.from, note: `from the chain ${placed.steps.join(", ")}` },
    }),
  };
  return {
    run: { ...ofRun, ...collectTexts(tree, entry) },
    bank,
    alternatives: out.alternatives,
    notes: centre.notes,
    warnings: [...out.warnings, ...appliedWarnings(tree, detector)],
  };
}

function collectWavelength(tree: Tree, entry: TreeGroup, out: MetadataCollector): void {
  const instruments = groupsBelow(entry, hasClass("NXinstrument"));
  const monochromators = groupsBelow(entry, hasClass("NXmonochromator"));
  // Velocity selectors are met under classes of other kinds of chopper too.
  const selectors = groupsBelow(entry, hasClass("NXvelocity_selector", "NXchopper", "NXdisk_chopper"));
  for (const group of [...monochromators, ...selectors]) {
    for (const name of ["wavelength", "lambda"]) out.offer("wavelength", numberField(tree, group, name), WAVELENGTH);
    const energy = numberField(tree, group, "energy");
    if (energy !== undefined) out.offerCandidate("wavelength", wavelengthOfEnergy(energy, isNeutron(tree, entry)));
    collectSpread(tree, group, out);
  }
  for (const group of groupsBelow(entry, hasClass("NXbeam"))) {
    out.offer("wavelength", numberField(tree, group, "incident_wavelength"), WAVELENGTH);
    offerSpread(numberField(tree, group, "incident_wavelength_spread"), out);
  }
  for (const group of [...instruments, ...groupsBelow(entry, hasClass("NXsource"))]) {
    for (const name of ["wavelength", "lambda", "incident_wavelength"])
      out.offer("wavelength", numberField(tree, group, name), WAVELENGTH);
    offerSpread(numberField(tree, group, "incident_wavelength_spread"), out);
  }
}

/** A spread as a ratio, in per cent, or as a length to be divided by the wavelength. */
function offerSpread(spread: Field | undefined, out: MetadataCollector): void {
  if (spread === undefined) return;
  const note = "taken as full width at half maximum over mean";
  const mean = out.taken.wavelength?.value;
  const width = spread.unit === undefined ? undefined : unitFactor("length", spread.unit);
  if (spread.values[0] === 0) out.show("wavelengthSpread", { value: 0, from: spread.path, note: "0: not recorded" });
  else if (spread.unit === "%" || spread.unit === "percent")
    out.offer("wavelengthSpread", { ...spread, unit: "", values: spread.values.map((value) => value / 100) }, RATIO, {
      note,
    });
  else if (width !== undefined && mean !== undefined)
    out.offer(
      "wavelengthSpread",
      { ...spread, unit: "", values: spread.values.map((value) => (value * width * 1e10) / mean) },
      RATIO,
      {
        note,
      },
    );
  else out.offer("wavelengthSpread", spread, RATIO, { note });
}

function collectSpread(tree: Tree, group: TreeGroup, out: MetadataCollector): void {
  offerSpread(numberField(tree, group, "wavelength_spread"), out);
  const errors = numberField(tree, group, "wavelength_errors") ?? numberField(tree, group, "wavelength_error");
  const mean = out.taken.wavelength?.value;
  if (errors === undefined || mean === undefined) return;
  const sigma = convert(errors, WAVELENGTH);
  if (!sigma.taken) return;
  // A Gaussian's full width at half maximum is 2 sqrt(2 ln 2) of its standard deviations.
  const value = (2.354_820_045_030_949 * sigma.value.value) / mean;
  const note = "from a standard deviation, taken as that of a Gaussian";
  out.offerCandidate("wavelengthSpread", { taken: true, value: { ...sigma.value, value, guessed: true, note } });
}

/** h^2 / (2 m_n) in meV angstrom^2, and h c in keV angstrom (CODATA 2018). */
const NEUTRON_MEV_A2 = 81.804_21;
const PHOTON_KEV_A = 12.398_419_84;

function wavelengthOfEnergy(energy: Field, neutron: boolean): Candidate {
  const found = convert(energy, { kind: "energy", range: "positive" });
  if (!found.taken) return found;
  const electronvolts = found.value.value;
  const value = neutron ? Math.sqrt(NEUTRON_MEV_A2 / (electronvolts * 1e3)) : PHOTON_KEV_A / (electronvolts / 1e3);
  return {
    taken: true,
    value: { ...found.value, value, note: `from the energy of a ${neutron ? "neutron" : "photon"}` },
  };
}

function isNeutron(tree: Tree, entry: TreeGroup): boolean {
  const probes = groupsBelow(entry, hasClass("NXsource")).map(
    (source) => textField(tree, source, "probe")?.value ?? "",
  );
  return !probes.some((probe) => /x-?ray/i.test(probe));
}

function offerPlacement(placed: Placement, out: MetadataCollector): void {
  const note = `along the beam to the detector's plane, from the chain ${placed.steps.join(", ")}`;
  if (placed.distance > 0)
    out.offerCandidate("distance", { taken: true, value: { value: placed.distance, from: placed.from, note } });
  else out.warnings.push(`${placed.from} places the detector ${placed.distance} m along the beam: not taken`);
  if (placed.isSpun)
    out.warnings.push(`${placed.from} turns the detector within its plane: the picture is shown unturned`);
}

function collectDistance(tree: Tree, entry: TreeGroup, detector: TreeGroup | undefined, out: MetadataCollector): void {
  const homes = [...(detector === undefined ? [] : [detector]), ...groupsBelow(entry, hasClass("NXcollection"))];
  for (const group of homes)
    for (const name of group === detector ? DISTANCE_NAMES : DISTANCE_NAMES.slice(1)) {
      const field = numberField(tree, group, name);
      const scalar = field !== undefined && field.values.length > 1 && field.values.some((v) => v !== field.values[0]);
      if (scalar)
        out.show("distance", { value: field.asWritten, from: field.path, note: "one value a pixel: not taken" });
      else out.offer("distance", field, LENGTH);
    }
  if (detector === undefined) return;
  for (const name of ["x_position", "z_position"]) {
    const field = numberField(tree, detector, name);
    const found = field === undefined ? undefined : convert(field, LENGTH);
    if (found?.taken === true)
      out.show("distance", {
        ...found.value,
        note: "a motor's position: perhaps along the beam, perhaps not; not taken",
      });
  }
}

function collectTimes(tree: Tree, entry: TreeGroup, detector: TreeGroup | undefined, out: MetadataCollector): void {
  const monitors = groupsBelow(entry, hasClass("NXmonitor"));
  const control = monitors.find(({ name }) => name === "control");
  for (const group of control === undefined ? monitors : [control, ...monitors])
    out.offer("countTime", numberField(tree, group, "count_time"), TIME);
  for (const name of ["count_time", "counting_time", "real_time"])
    if (detector !== undefined) out.offer("countTime", numberField(tree, detector, name), TIME);
  out.offer("countTime", numberField(tree, entry, "duration"), TIME);
  const [start, end] = ["start_time", "end_time"].map((name) => Date.parse(textField(tree, entry, name)?.value ?? ""));
  const seconds = ((end ?? Number.NaN) - (start ?? Number.NaN)) / 1000;
  if (seconds > 0)
    out.offerCandidate("countTime", {
      taken: true,
      value: { value: seconds, from: `${entry.path}/end_time`, guessed: true, note: "end minus start of the run" },
    });
}

function collectSample(tree: Tree, entry: TreeGroup, out: MetadataCollector): void {
  for (const group of groupsBelow(entry, hasClass("NXsample"))) {
    out.offer("thickness", numberField(tree, group, "thickness"), LENGTH);
    out.offer("transmission", numberField(tree, group, "transmission"), { ...RATIO, range: "positive" });
    out.offer("temperature", fromCelsius(numberField(tree, group, "temperature")), TEMPERATURE);
    out.offer("magneticField", numberField(tree, group, "magnetic_field"), MAGNETIC_FIELD);
    const nested = group.groups.get("transmission")?.datasets;
    for (const dataset of nested?.values() ?? [])
      if (isSet(dataset.attributes, "signal") || dataset.path.endsWith("/data"))
        out.offer("transmission", fieldOf(tree, dataset), { ...RATIO, range: "positive" });
  }
}

/** Pitch along physical x and y, m. */
function collectPixelSize(
  tree: Tree,
  detector: TreeGroup | undefined,
  out: MetadataCollector,
): Sourced<readonly [number, number]> | undefined {
  if (detector === undefined) return undefined;
  const sides = (["x", "y"] as const).map((letter) => {
    const size = numberField(tree, detector, `${letter}_pixel_size`);
    const found =
      size === undefined || !fitsPixels(detector, `${letter}_pixel_size`, out) ? undefined : convert(size, LENGTH);
    if (found?.taken === true) return found.value;
    if (found?.taken === false) {
      out.show("pixelSize", found.shown);
      if (found.warning !== undefined) out.warnings.push(found.warning);
    }
    return pitchOfOffsets(tree, detector, letter, out);
  });
  const [x, y] = sides;
  if (x === undefined || y === undefined) {
    const lone = x ?? y;
    if (lone !== undefined) out.show("pixelSize", { ...lone, note: "the other side is missing: not taken" });
    return undefined;
  }
  return {
    value: [x.value, y.value],
    from: `${x.from}, ${y.from.slice(y.from.lastIndexOf("/") + 1)}`,
    asWritten: `${x.asWritten}, ${y.asWritten}`,
    ...((x.guessed === true || y.guessed === true) && { guessed: true }),
    ...((x.note ?? y.note) !== undefined && { note: x.note ?? y.note! }),
  };
}

/** One size for all pixels, or one for each in the frame's rows and columns (NXdetector); a warning for anything else. */
function fitsPixels({ datasets }: TreeGroup, name: string, out: MetadataCollector): boolean {
  const dataset = datasets.get(name);
  const sides = dataset?.shape.filter((n) => n > 1).length ?? 0;
  if (dataset === undefined || sides === 0 || sides === 2) return true;
  out.warnings.push(
    `${dataset.path} (${dataset.shape.join(" x ")}) fits neither one pixel size nor one a pixel: not taken`,
  );
  return false;
}

function pitchOfOffsets(
  tree: Tree,
  detector: TreeGroup,
  letter: "x" | "y",
  out: MetadataCollector,
): Sourced<number> | undefined {
  const dataset = detector.datasets.get(`${letter}_pixel_offset`) ?? detector.datasets.get(`detector_${letter}`);
  if (dataset === undefined || dataset.shape.filter((n) => n > 1).length !== 1) return undefined;
  const field = fieldOf(tree, dataset);
  if (field === undefined || field.values.length < 2) return undefined;
  const factor = field.unit === undefined ? undefined : unitFactor("length", field.unit);
  const n = field.values.length;
  const pitch = (field.values[n - 1]! - field.values[0]!) / (n - 1);
  if (factor === undefined) {
    out.show("pixelSize", {
      value: pitch,
      from: field.path,
      note: "spacing of an axis without a unit of length: not taken",
    });
    return undefined;
  }
  const isEven = field.values.every(
    (value, i) => Math.abs(value - field.values[0]! - i * pitch) <= 1e-3 * Math.abs(pitch),
  );
  const value = Math.abs(pitch) * factor;
  if (isEven && value > 0)
    return { value, from: field.path, asWritten: `${pitch} ${field.unit}`, note: "spacing of the pixel offsets" };
  out.show("pixelSize", { value, from: field.path, note: "uneven spacing of the pixel offsets: not taken" });
  return undefined;
}

/** From (x, y) to (along array columns, along array rows). */
function alongArray(size: Sourced<readonly [number, number]>, transpose: boolean): Sourced<readonly [number, number]> {
  return transpose ? { ...size, value: [size.value[1], size.value[0]] } : size;
}

function collectTexts(tree: Tree, entry: TreeGroup): TextMetadata {
  const sample = groupsBelow(entry, hasClass("NXsample"))[0];
  const instrument = groupsBelow(entry, hasClass("NXinstrument"))[0];
  const texts = {
    title: textField(tree, entry, "title"),
    sampleName: sample === undefined ? undefined : textField(tree, sample, "name"),
    runNumber: textField(tree, entry, "run_number") ?? textField(tree, entry, "entry_identifier"),
    startTime: textField(tree, entry, "start_time"),
    endTime: textField(tree, entry, "end_time"),
    instrument: instrument === undefined ? undefined : textField(tree, instrument, "name"),
  };
  return Object.fromEntries(Object.entries(texts).filter(([, text]) => text !== undefined)) as TextMetadata;
}

const APPLIED: readonly (readonly [field: string, warning: string])[] = [
  ["flatfield_applied", "the flood correction was applied before: don't apply it again"],
  ["countrate_correction_applied", "the dead-time correction was applied before: don't apply it again"],
];

function appliedWarnings(tree: Tree, detector: TreeGroup | undefined): string[] {
  if (detector === undefined) return [];
  return APPLIED.flatMap(([name, warning]) => {
    const text = textField(tree, detector, name)?.value ?? "";
    return text === "" || text === "0" || /^false$/i.test(text)
      ? []
      : [`${detector.path}/${name} is ${text}: ${warning}`];
  });
}

import type { Hdf5TreeDataset, Hdf5TreeGroup } from "../formats/hdf5/write-tree.ts";
import type { LedgerEntry } from "../model/ledger.ts";
import type { Measured } from "../plan/reduction.ts";
import type { CurveOrigin } from "./curve-origin.ts";
import { jsonText } from "./json.ts";
import { appliedSteps, parameterText, stepName } from "./ledger-words.ts";
import { arrayField, knownFields, nexusGroup, nexusName, numberField, textField } from "./nexus-tree.ts";

/** Everything of an SASentry but its data: instrument, sample, transmission, one process a step, and the ledger. */
export function experimentGroups(reduction: CurveOrigin): Record<string, Hdf5TreeGroup> {
  const { transmission, geometry, ledger } = reduction;
  const processes = appliedSteps(ledger.steps).map((step) => processOf(step, reduction));
  const spectra = [
    spectrum("sample", transmission.sample, geometry.wavelength),
    spectrum("can", transmission.emptyCell, geometry.wavelength),
  ].filter((group) => group !== undefined);
  return {
    sasinstrument: instrument(reduction),
    sassample: sample(reduction),
    ...numbered("sasprocess", processes),
    ...numbered("sastransmission_spectrum", spectra),
    sasnote: nexusGroup(["NXcollection", "SASnote"], { ledger: textField(jsonText(ledger)) }),
  };
}

function numbered(name: string, groups: readonly Hdf5TreeGroup[]): Record<string, Hdf5TreeGroup> {
  return Object.fromEntries(groups.map((group, index) => [`${name}${String(index + 1).padStart(2, "0")}`, group]));
}

function instrument({ metadata, geometry, collimation }: CurveOrigin): Hdf5TreeGroup {
  const { wavelength, beamCentre, pixelSizeX, pixelSizeY, distance, tilt } = geometry;
  const spread = collimation.wavelengthSpread;
  const aperture = (diameter: number | undefined) =>
    nexusGroup(["NXaperture", "SASaperture"], {
      shape: textField("pinhole"),
      ...knownFields({ x_gap: [diameter, "m"], y_gap: [diameter, "m"] }),
    });
  return nexusGroup(["NXinstrument", "SASinstrument"], {
    name: textField(metadata.instrument?.value ?? "not known"),
    ...(collimation.sourceAperture === undefined ? {} : { source_aperture: aperture(collimation.sourceAperture) }),
    ...(collimation.sampleAperture === undefined ? {} : { sample_aperture: aperture(collimation.sampleAperture) }),
    sascollimation: nexusGroup(["NXcollimator", "SAScollimation"], knownFields({ length: [collimation.length, "m"] })),
    sasdetector: nexusGroup(["NXdetector", "SASdetector"], {
      name: textField("detector"),
      ...knownFields({
        SDD: [distance, "m"],
        beam_center_x: [beamCentre?.x, "pixel"],
        beam_center_y: [beamCentre?.y, "pixel"],
        x_pixel_size: [pixelSizeX, "m"],
        y_pixel_size: [pixelSizeY, "m"],
        pitch: [tilt?.[0], "rad"],
        yaw: [tilt?.[1], "rad"],
      }),
    }),
    sassource: nexusGroup(["NXsource", "SASsource"], {
      probe: textField("neutron"),
      ...knownFields({
        incident_wavelength: [wavelength, "angstrom"],
        // The definition wants the full width at half maximum as a wavelength.
        incident_wavelength_spread: [
          spread === undefined || wavelength === undefined ? undefined : spread * wavelength,
          "angstrom",
        ],
      }),
    }),
  });
}

function sample({ metadata, transmission, sampleFile }: CurveOrigin): Hdf5TreeGroup {
  return nexusGroup(["NXsample", "SASsample"], {
    name: textField(metadata.sampleName?.value ?? sampleFile),
    // A transmission has no units attribute in this definition.
    ...knownFields({ thickness: [metadata.thickness?.value, "m"], transmission: [transmission.sample?.value] }),
  });
}

/** The definition wants T with its uncertainty, so a transmission without one stands in the sample group alone. */
function spectrum(
  name: "sample" | "can",
  quantity: Measured | undefined,
  wavelength: number | undefined,
): Hdf5TreeGroup | undefined {
  if (wavelength === undefined) return undefined;
  if (quantity?.sigma === undefined || !Number.isFinite(quantity.sigma)) return undefined;
  return nexusGroup(
    ["NXdata", "SAStransmission_spectrum"],
    {
      lambda: numberField(wavelength, "angstrom"),
      T: arrayField(Float64Array.of(quantity.value), { units: "", uncertainties: "Tdev" }),
      Tdev: numberField(quantity.sigma, ""),
    },
    { signal: "T", T_axes: "T", axes: "lambda", name },
  );
}

function processOf(step: LedgerEntry, { ledger }: CurveOrigin): Hdf5TreeGroup {
  const fields: Record<string, Hdf5TreeDataset> = {};
  for (const [key, value] of Object.entries(step.parameters)) {
    fields[RESERVED.has(key) ? `parameter_${key}` : nexusName(key)] = parameterField(key, value);
  }
  return nexusGroup(["NXprocess", "SASprocess"], {
    name: textField(step.step),
    description: textField(`${ledger.program.name} ${ledger.program.version}: ${stepName(step.step)}`),
    ...fields,
    sasprocessnote: nexusGroup(["NXcollection", "SASprocessnote"], { ledger: textField(jsonText(step)) }),
  });
}

const RESERVED: ReadonlySet<string> = new Set(["name", "description", "date", "sasprocessnote"]);

function parameterField(key: string, value: unknown): Hdf5TreeDataset {
  if (typeof value === "number" && Number.isFinite(value)) return numberField(value, unitOfKey(key));
  if (Array.isArray(value) && value.length > 0 && value.every((entry) => Number.isFinite(entry))) {
    return arrayField(Float64Array.from(value as number[]), { units: unitOfKey(key) });
  }
  return textField(parameterText(value));
}

/** Units by the ending of a plan's key, in UDUNITS' words; none: a plain number. */
const KEY_UNITS: Readonly<Record<string, string>> = {
  m: "m",
  mm: "mm",
  s: "s",
  A: "angstrom",
  px: "pixel",
  deg: "degree",
  "1A": "1/angstrom",
  "1cm": "1/cm",
};

function unitOfKey(key: string): string {
  return KEY_UNITS[key.slice(key.lastIndexOf("_") + 1)] ?? "";
}

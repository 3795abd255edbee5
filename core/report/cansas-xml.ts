import type { Curve } from "../model/curve.ts";
import type { LedgerEntry } from "../model/ledger.ts";
import { nineDigits } from "../model/numbers.ts";
import { hasResolution } from "./average-table.ts";
import type { CurveOrigin } from "./curve-origin.ts";
import { cansasIntensityUnit } from "./intensity-unit.ts";
import { appliedSteps, notAppliedInWords, parameterText, stepName, stepsNotApplied } from "./ledger-words.ts";
import { escapeXml, oneLine } from "./text.ts";

/**
 * A curve as canSAS1D 1.1 XML, elements in the order that the schema fixes. Numbers are single precision there, so they
 * have at most nine significant digits; the exact doubles are in the CSV and HDF5 files. Qdev is written for all points
 * or for none.
 * @see urn:cansas1d:1.1, cansas1d.xsd
 */
export function cansasXml(curve: Curve, reduction: CurveOrigin): string {
  const lines = [
    '<?xml version="1.0" encoding="UTF-8"?>',
    '<SASroot version="1.1" xmlns="urn:cansas1d:1.1" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" xsi:schemaLocation="urn:cansas1d:1.1 http://www.cansas.org/formats/1.1/cansas1d.xsd">',
    `<SASentry name="${escapeXml(curve.id)}">`,
    text("Title", reduction.title),
    text("Run", reduction.metadata.runNumber?.value ?? reduction.sampleFile),
    ...dataLines(curve),
    ...transmissionLines(reduction),
    ...sampleLines(reduction),
    ...instrumentLines(reduction),
    ...appliedSteps(reduction.ledger.steps).flatMap((step) => processLines(step, reduction)),
    text("SASnote", note(curve, reduction)),
    "</SASentry>",
    "</SASroot>",
  ];
  return `${lines.join("\n")}\n`;
}

function text(element: string, content: string): string {
  return `<${element}>${escapeXml(oneLine(content))}</${element}>`;
}

function number(element: string, value: number, unit: string): string {
  return `<${element} unit="${escapeXml(unit)}">${nineDigits(value)}</${element}>`;
}

/** An optional number: nothing where it isn't known. */
function known(element: string, value: number | undefined, unit: string): readonly string[] {
  return value === undefined || !Number.isFinite(value) ? [] : [number(element, value, unit)];
}

/** An optional element: nothing where nothing of it is known. */
function wrapped(element: string, content: readonly string[], attributes = ""): readonly string[] {
  return content.length === 0 ? [] : [`<${element}${attributes}>${content.join("")}</${element}>`];
}

function dataLines(curve: Curve): string[] {
  const unit = cansasIntensityUnit(curve.unit);
  const resolved = hasResolution(curve);
  const lines = [`<SASdata name="${escapeXml(curve.id)}">`];
  for (let b = 0; b < curve.intensity.length; b++) {
    const point = [
      number("Q", curve.q[b]!, "1/A"),
      number("I", curve.intensity[b]!, unit),
      number("Idev", curve.sigma[b]!, unit),
    ];
    if (resolved) point.push(number("Qdev", curve.qSigma[b]!, "1/A"));
    lines.push(`<Idata>${point.join("")}</Idata>`);
  }
  lines.push("</SASdata>");
  return lines;
}

function transmissionLines({ transmission, metadata }: CurveOrigin): readonly string[] {
  const wavelength = metadata.wavelength?.value;
  if (wavelength === undefined) return [];
  const spectra = [
    ["sample", transmission.sample],
    ["can", transmission.emptyCell],
  ] as const;
  return spectra.flatMap(([name, quantity]) => {
    if (quantity === undefined) return [];
    const data = [number("Lambda", wavelength, "A"), number("T", quantity.value, "none")];
    const point = `<Tdata>${[...data, ...known("Tdev", quantity.sigma, "none")].join("")}</Tdata>`;
    return wrapped("SAStransmission_spectrum", [point], ` name="${name}"`);
  });
}

function sampleLines({ metadata, transmission, sampleFile }: CurveOrigin): readonly string[] {
  const lines = [
    text("ID", metadata.sampleName?.value ?? sampleFile),
    ...known("thickness", millimetres(metadata.thickness?.value), "mm"),
  ];
  const { sample } = transmission;
  if (sample !== undefined) lines.push(`<transmission>${nineDigits(sample.value)}</transmission>`);
  return wrapped("SASsample", lines);
}

function instrumentLines({ metadata, geometry, collimation }: CurveOrigin): readonly string[] {
  const source = [
    text("radiation", "neutron"),
    ...known("wavelength", geometry.wavelength, "A"),
    ...known("wavelength_spread", collimation.wavelengthSpread, "fraction"),
  ];
  const aperture = (name: string, diameter: number | undefined) => {
    const across = millimetres(diameter);
    const size = [...known("x", across, "mm"), ...known("y", across, "mm")];
    return wrapped("aperture", wrapped("size", size), ` name="${name}" type="pinhole"`);
  };
  const collimator = [
    ...known("length", collimation.length, "m"),
    ...aperture("source", collimation.sourceAperture),
    ...aperture("sample", collimation.sampleAperture),
  ];
  const { beamCentre } = geometry;
  const detector = [
    text("name", "detector"),
    ...known("SDD", geometry.distance, "m"),
    ...wrapped("beam_center", [...known("x", beamCentre?.x, "pixel"), ...known("y", beamCentre?.y, "pixel")]),
    ...wrapped("pixel_size", [
      ...known("x", millimetres(geometry.pixelSizeX), "mm"),
      ...known("y", millimetres(geometry.pixelSizeY), "mm"),
    ]),
  ];
  return [
    "<SASinstrument>",
    text("name", metadata.instrument?.value ?? "not known"),
    ...wrapped("SASsource", source),
    // The schema wants the element even where nothing is known of the collimation.
    collimator.length > 0 ? `<SAScollimation>${collimator.join("")}</SAScollimation>` : "<SAScollimation/>",
    ...wrapped("SASdetector", detector),
    "</SASinstrument>",
  ];
}

function processLines(step: LedgerEntry, { ledger }: CurveOrigin): readonly string[] {
  const terms = Object.entries(step.parameters).map(
    ([key, value]) => `<term name="${escapeXml(key)}">${escapeXml(parameterText(value))}</term>`,
  );
  const remarks = [...(step.reason === undefined ? [] : [step.reason]), ...step.warnings];
  return [
    "<SASprocess>",
    text("name", step.step),
    text("description", `${ledger.program.name} ${ledger.program.version}: ${stepName(step.step)}`),
    ...terms,
    text("SASprocessnote", remarks.join("; ")),
    "</SASprocess>",
  ];
}

function note(curve: Curve, { ledger, geometry, warnings }: CurveOrigin): string {
  const parts = [`intensity in ${curve.unit}`];
  if (geometry.beamCentre !== undefined) parts.push("beam centre in pixels, pixel centres at whole numbers");
  if (!hasResolution(curve)) parts.push("resolution not known");
  for (const step of stepsNotApplied(ledger.steps)) parts.push(`not applied: ${notAppliedInWords(step)}`);
  for (const warning of warnings) parts.push(`warning: ${warning}`);
  return parts.join("; ");
}

function millimetres(metres: number | undefined): number | undefined {
  return metres === undefined ? undefined : metres * 1000;
}

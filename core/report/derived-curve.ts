import type { CurvePoints } from "../curves/curve-points.ts";
import type { Curve, IntensityUnit } from "../model/curve.ts";
import type { LedgerEntry, LedgerInput } from "../model/ledger.ts";
import { cansasXml } from "./cansas-xml.ts";
import { averageText } from "./columns.ts";
import { averageCsv } from "./csv.ts";
import type { CurveOrigin } from "./curve-origin.ts";
import { curveTree } from "./nxcansas.ts";
import type { WriteHdf5 } from "./output-services.ts";
import { utf8 } from "./text.ts";

/** A curve that was made from others, and how. */
export interface DerivedCurve extends CurvePoints {
  readonly sigma: Float64Array;
  readonly title: string;
  readonly unit: IntensityUnit;
  readonly inputs: readonly LedgerInput[];
  readonly steps: readonly LedgerEntry[];
  readonly warnings: readonly string[];
}

/** By the ending of the file name. */
export const CURVE_FORMATS = ["csv", "txt", "xml", "h5"] as const;
export type CurveFormat = (typeof CURVE_FORMATS)[number];

/** The bytes of a curve that did not come straight from a frame: in the same formats as one that did. */
export async function derivedCurveFile(
  derived: DerivedCurve,
  format: CurveFormat,
  { writeHdf5, version }: { readonly writeHdf5: WriteHdf5; readonly version: string },
): Promise<Uint8Array<ArrayBuffer>> {
  const curve = asCurve(derived);
  const origin = originOf(derived, version);
  switch (format) {
    case "csv":
      return utf8(averageCsv(curve));
    case "txt":
      return utf8(averageText(curve, origin));
    case "xml":
      return utf8(cansasXml(curve, origin));
    case "h5":
      return writeHdf5(curveTree(curve, origin));
  }
}

/** Pixels and counts have no meaning any more: not known. */
function asCurve({ q, intensity, sigma, qSigma, title, unit }: DerivedCurve): Curve {
  const unknown = new Float64Array(q.length).fill(Number.NaN);
  return {
    kind: "radial",
    id: title,
    unit,
    ...{ q, intensity, sigma, pixels: unknown, counts: unknown, norm: unknown, scatterSigma: unknown, chi2: unknown },
    zeroCounts: new Uint8Array(q.length),
    bin: Int32Array.from(q, (_, b) => b),
    ...(qSigma && { qSigma }),
  };
}

function originOf({ title, inputs, steps, warnings }: DerivedCurve, version: string): CurveOrigin {
  return {
    title,
    sampleFile: inputs.map(({ file }) => file).join(" + "),
    metadata: {},
    transmission: {},
    geometry: {},
    collimation: {},
    ledger: { program: { name: "Halation", version }, plan: {}, inputs, steps, warnings },
    warnings,
  };
}

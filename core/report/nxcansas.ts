import type { QxQyGrid } from "../anisotropy/qxqy-grid.ts";
import type { Hdf5TreeGroup } from "../formats/hdf5/write-tree.ts";
import { waveNumber } from "../geometry/constants.ts";
import { qxMap, qyMap } from "../geometry/maps.ts";
import type { Curve } from "../model/curve.ts";
import type { Reduction } from "../plan/reduction.ts";
import { hasResolution } from "./average-table.ts";
import type { CurveOrigin } from "./curve-origin.ts";
import { nexusIntensityUnit } from "./intensity-unit.ts";
import { arrayField, nexusGroup, packedField, textField } from "./nexus-tree.ts";
import { experimentGroups } from "./nxcansas-experiment.ts";

const PER_ANGSTROM = "1/angstrom";

/**
 * A curve as NXcanSAS: one SASentry with one SASdata, all numbers float64.
 * @see https://manual.nexusformat.org/classes/applications/NXcanSAS.html
 */
export function curveTree(curve: Curve, reduction: CurveOrigin): Hdf5TreeGroup {
  const { units, longName } = nexusIntensityUnit(curve.unit);
  const resolved = hasResolution(curve);
  const data = nexusGroup(
    ["NXdata", "SASdata"],
    {
      Q: arrayField(curve.q, {
        units: PER_ANGSTROM,
        ...(resolved ? { resolutions: "Qdev", resolutions_description: "Gaussian" } : {}),
      }),
      I: arrayField(curve.intensity, { units, uncertainties: "Idev", long_name: longName }),
      Idev: arrayField(curve.sigma, { units }),
      ...(resolved ? { Qdev: arrayField(curve.qSigma, { units: PER_ANGSTROM }) } : {}),
    },
    { signal: "I", axes: "Q", I_axes: "Q", Q_indices: Int32Array.of(0) },
  );
  return rootOf(reduction, data, `${reduction.title}, ${curve.id}`);
}

/**
 * The corrected frame as two-dimensional NXcanSAS, in the frame's stored order. Masked pixels are NaN in I and 1 in
 * Mask. Q is the magnitude; Qx and Qy are its components along +x and +y of the picture.
 */
export function frameTree(reduction: Reduction): Hdf5TreeGroup {
  const { maps, geometry } = reduction;
  return planeTree(reduction, "frame", {
    ...geometry,
    intensity: maps.intensity,
    sigma: maps.sigma,
    q: maps.q,
    qx: qxMap(geometry),
    qy: qyMap(geometry),
    isEmpty: (p) => maps.mask[p] !== 0,
  });
}

/**
 * The corrected frame on a grid of Qx and Qy, for fitting in two dimensions. Cells without a pixel are NaN and masked;
 * counts add up to those of the frame's unmasked pixels.
 */
export function gridTree(reduction: Reduction, grid: QxQyGrid): Hdf5TreeGroup {
  const { width, height } = grid;
  const k = waveNumber(reduction.geometry.wavelength);
  const cells = (value: (column: number, row: number) => number) =>
    Float64Array.from({ length: width * height }, (_, p) => value(p % width, Math.floor(p / width)));
  return planeTree(reduction, "grid of Qx and Qy", {
    ...grid,
    // Q has a part along the beam, too: |Q|^2 = 2 k^2 (1 - sqrt(1 - (Qx^2 + Qy^2)/k^2)).
    q: cells((column, row) => {
      const across = (grid.qx[column]! * grid.qx[column]! + grid.qy[row]! * grid.qy[row]!) / (k * k);
      return k * Math.sqrt((2 * across) / (1 + Math.sqrt(1 - across)));
    }),
    qx: cells((column) => grid.qx[column]!),
    qy: cells((_column, row) => grid.qy[row]!),
    counts: grid.counts,
    isEmpty: (p) => grid.pixels[p] === 0,
  });
}

interface Plane {
  readonly width: number;
  readonly height: number;
  readonly intensity: Float64Array;
  readonly sigma: Float64Array;
  readonly q: Float64Array;
  readonly qx: Float64Array;
  readonly qy: Float64Array;
  /** Of the sample, in each cell. */
  readonly counts?: Float64Array;
  readonly isEmpty: (p: number) => boolean;
}

function planeTree(reduction: Reduction, name: string, plane: Plane): Hdf5TreeGroup {
  const { units, longName } = nexusIntensityUnit(reduction.unit);
  const shape = [plane.height, plane.width];
  const both = Int32Array.of(0, 1);
  const flags = new Uint8Array(plane.intensity.length);
  for (let p = 0; p < flags.length; p++) if (plane.isEmpty(p)) flags[p] = 1;
  const map = (values: Float64Array, attributes: Readonly<Record<string, string>>) =>
    arrayField(values, attributes, shape);
  const data = nexusGroup(
    ["NXdata", "SASdata"],
    {
      I: packedField(plane.intensity, { units, uncertainties: "Idev", long_name: longName }, shape),
      Idev: map(plane.sigma, { units }),
      Q: map(plane.q, { units: PER_ANGSTROM }),
      Qx: map(plane.qx, { units: PER_ANGSTROM }),
      Qy: map(plane.qy, { units: PER_ANGSTROM }),
      ...(plane.counts && { counts: map(plane.counts, { units: "counts" }) }),
      Mask: packedField(flags, {}, shape),
    },
    {
      signal: "I",
      I_axes: ["Q", "Q"],
      axes: [".", "."],
      Q_indices: both,
      Qx_indices: both,
      Qy_indices: both,
      mask: "Mask",
      Mask_indices: both,
    },
  );
  return rootOf(reduction, data, `${reduction.title}, ${name}`);
}

function rootOf(reduction: CurveOrigin, data: Hdf5TreeGroup, title: string): Hdf5TreeGroup {
  const { program } = reduction.ledger;
  const entry = nexusGroup(
    ["NXentry", "SASentry"],
    {
      definition: textField("NXcanSAS"),
      title: textField(title),
      run: textField(reduction.metadata.runNumber?.value ?? reduction.sampleFile),
      sasdata01: data,
      ...experimentGroups(reduction),
    },
    { version: "1.1", default: "sasdata01" },
  );
  return nexusGroup(
    ["NXroot"],
    { sasentry01: entry },
    { default: "sasentry01", creator: program.name, creator_version: program.version },
  );
}

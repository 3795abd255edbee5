import type { Hdf5TreeGroup } from "../formats/hdf5/write-tree.ts";
import { qxMap, qyMap } from "../geometry/maps.ts";
import type { Curve } from "../model/curve.ts";
import type { Reduction } from "../plan/reduction.ts";
import { hasResolution } from "./average-table.ts";
import { nexusIntensityUnit } from "./intensity-unit.ts";
import { arrayField, nexusGroup, textField } from "./nexus-tree.ts";
import { experimentGroups } from "./nxcansas-experiment.ts";

const PER_ANGSTROM = "1/angstrom";

/**
 * A curve as NXcanSAS: one SASentry with one SASdata, all numbers float64.
 * @see https://manual.nexusformat.org/classes/applications/NXcanSAS.html
 */
export function curveTree(curve: Curve, reduction: Reduction): Hdf5TreeGroup {
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
  const { maps, geometry, unit } = reduction;
  const { units, longName } = nexusIntensityUnit(unit);
  const shape = [geometry.height, geometry.width];
  const both = Int32Array.of(0, 1);
  const map = (values: Float64Array, attributes: Readonly<Record<string, string>>) =>
    arrayField(values, attributes, shape);
  const data = nexusGroup(
    ["NXdata", "SASdata"],
    {
      I: map(maps.intensity, { units, uncertainties: "Idev", long_name: longName }),
      Idev: map(maps.sigma, { units }),
      Q: map(maps.q, { units: PER_ANGSTROM }),
      Qx: map(qxMap(geometry), { units: PER_ANGSTROM }),
      Qy: map(qyMap(geometry), { units: PER_ANGSTROM }),
      Mask: arrayField(
        Uint8Array.from(maps.mask, (bits) => (bits === 0 ? 0 : 1)),
        {},
        shape,
      ),
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
  return rootOf(reduction, data, `${reduction.title}, frame`);
}

function rootOf(reduction: Reduction, data: Hdf5TreeGroup, title: string): Hdf5TreeGroup {
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

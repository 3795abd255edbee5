import { atan2, cos, sin } from "../../model/steady-math.ts";
import { unitFactor } from "../units.ts";
import { fieldOf } from "./fields.ts";
import { type Tree, type TreeGroup, textAttribute } from "./tree.ts";

type Vector = readonly [number, number, number];

/** A flat detector as its chain of transformations places it. Lab frame: z along the beam, y up. */
export interface Placement {
  /** From the sample along the beam to the plane of the detector, m. */
  readonly distance: number;
  /** Rotations of the plane about lab x, then lab y, rad. */
  readonly tilt: readonly [number, number];
  /** True where the chain also turns the detector within its own plane. */
  readonly isSpun: boolean;
  readonly from: string;
  readonly steps: readonly string[];
}

/** Longest chain before it is taken for a loop. */
const LONGEST_CHAIN = 64;

/**
 * Follows `depends_on` of a detector: the first transformation is applied first, each is active and right-handed, and
 * "." ends the chain (NeXus, NXtransformations). Undefined where there is no chain; a text says what is wrong with it.
 */
export function placementOf(tree: Tree, detector: TreeGroup): Placement | string | undefined {
  const start = detector.datasets.get("depends_on");
  if (start === undefined) return undefined;
  const text = tree.file.readText(start.path);
  let next = text.ok ? (text.value[0] ?? "") : "";
  let home = detector.path;
  let origin: Vector = [0, 0, 0];
  let normal: Vector = [0, 0, 1];
  let across: Vector = [1, 0, 0];
  const steps: string[] = [];
  while (next !== "." && next !== "") {
    const path = next.startsWith("/") ? next : `${home}/${next}`;
    if (steps.includes(path)) return `depends_on of ${detector.path} runs in a loop at ${path}`;
    if (steps.length >= LONGEST_CHAIN) return `depends_on of ${detector.path} has more than ${LONGEST_CHAIN} steps`;
    const node = tree.file.node(path);
    if (!node.ok) return `depends_on of ${detector.path}: ${node.fault.message}`;
    if (node.value.kind !== "dataset") return `depends_on of ${detector.path} leads to ${path}, which is a group`;
    steps.push(path);
    const { attributes } = node.value;
    const field = fieldOf(tree, node.value);
    const kind = textAttribute(attributes, "transformation_type");
    const vector = vectorOf(attributes.get("vector"));
    if (kind !== undefined && (field === undefined || field.values.length !== 1 || vector === undefined))
      return `${path} has no single value with a vector: a detector that moves is not placed`;
    if (kind !== undefined && field !== undefined && vector !== undefined) {
      const factor = unitFactor(kind === "rotation" ? "angle" : "length", field.unit ?? "");
      if (factor === undefined) return `${path}: unit "${field.unit ?? ""}" does not go with a ${kind}`;
      const amount = field.values[0]! * factor;
      if (kind === "rotation") {
        origin = rotate(origin, vector, amount);
        normal = rotate(normal, vector, amount);
        across = rotate(across, vector, amount);
      } else origin = add(origin, vector, amount);
      const offset = vectorOf(attributes.get("offset"));
      const offsetFactor = unitFactor("length", textAttribute(attributes, "offset_units") ?? field.unit ?? "");
      if (offset?.some((part) => part !== 0) === true) {
        if (offsetFactor === undefined) return `${path}: its offset has no unit of length`;
        origin = add(origin, offset, offsetFactor);
      }
    }
    home = path.slice(0, path.lastIndexOf("/"));
    next = textAttribute(attributes, "depends_on") ?? ".";
  }
  if (steps.length === 0) return undefined;
  const [nx, ny, nz] = normal;
  if (!(Math.abs(nz) > SMALLEST_COSINE)) return `depends_on of ${detector.path} turns the detector edge-on to the beam`;
  const distance = (origin[0] * nx + origin[1] * ny + origin[2] * nz) / nz;
  // The normal after a rotation by a about x, then by b about y: (cos a sin b, -sin a, cos a cos b).
  const tilt = [-atan2(ny, Math.sqrt(Math.max(0, 1 - ny * ny))), atan2(nx, nz)] as const;
  const spin = across[0] * cos(tilt[1]) - across[2] * sin(tilt[1]);
  return { distance, tilt, isSpun: Math.abs(spin - 1) > 1e-6, from: start.path, steps };
}

const SMALLEST_COSINE = 1e-3;

function vectorOf(value: unknown): Vector | undefined {
  if (
    !Array.isArray(value) ||
    value.length !== 3 ||
    !value.every((part) => typeof part === "number" && Number.isFinite(part))
  )
    return undefined;
  return [value[0], value[1], value[2]];
}

function add(origin: Vector, vector: Vector, amount: number): Vector {
  return [origin[0] + vector[0] * amount, origin[1] + vector[1] * amount, origin[2] + vector[2] * amount];
}

/** Rodrigues' rotation about an axis through the origin of the lab. */
function rotate(point: Vector, axis: Vector, angle: number): Vector {
  const length = Math.hypot(...axis);
  if (!(length > 0)) return point;
  const [x, y, z] = [axis[0] / length, axis[1] / length, axis[2] / length];
  const [px, py, pz] = point;
  const [c, s] = [cos(angle), sin(angle)];
  const along = (x * px + y * py + z * pz) * (1 - c);
  return [
    px * c + (y * pz - z * py) * s + x * along,
    py * c + (z * px - x * pz) * s + y * along,
    pz * c + (x * py - y * px) * s + z * along,
  ];
}

import { beamStopMask } from "../beam/stop-mask.ts";
import { findStopShadow } from "../beam/stop-shadow.ts";
import { autoMask } from "../corrections/auto-mask.ts";
import type { MaskInputs } from "../corrections/correction.ts";
import { addMask, MASK_REASONS } from "../model/mask.ts";
import { edgeMask, shapeMask } from "../model/mask-shapes.ts";
import type { RunMetadata } from "../model/metadata.ts";
import type { Inputs } from "./inputs.ts";
import type { Plan } from "./plan.ts";
import type { StopOutline } from "./reduction.ts";

/** Runs whose pixels enter the signal: a pixel that one of them lacks is lacking in the result. */
const MASKING_ROLES = ["sample", "emptyCell", "blockedBeam"] as const;

/**
 * Fewer dark pixels beside the stop are chance. They are named, not masked: leaving out pixels because they counted little
 * would pull the average up.
 */
const LEAST_ARM = 5;

export interface BuiltMask extends MaskInputs {
  readonly beamStop?: StopOutline;
}

/**
 * The mask of a plan: what the files rule out, edges, shapes and mask file, then the stop's shadow, then hot and dead
 * pixels among the rest. Every pixel keeps all of its reasons.
 */
export function buildMask(plan: Plan, inputs: Inputs, metadata: RunMetadata): BuiltMask {
  const { frame } = inputs.runs.sample;
  const { width, height, counts } = frame;
  const wanted = plan.mask ?? {};
  const bits = new Uint16Array(width * height);
  const parameters: Record<string, unknown> = {};
  const sources: Record<string, string> = {};
  const warnings: string[] = [];
  for (const role of MASKING_ROLES) {
    const run = inputs.runs[role];
    if (run !== undefined) addMask(bits, run.frame.mask);
  }
  if (wanted.edge_px !== undefined && wanted.edge_px > 0) {
    addMask(bits, edgeMask(width, height, wanted.edge_px));
    parameters["edge_px"] = wanted.edge_px;
    sources["edge_px"] = "mask.edge_px";
  }
  if (wanted.shapes !== undefined && wanted.shapes.length > 0) {
    shapeMask(wanted.shapes, width, height, bits);
    parameters["shapes"] = wanted.shapes;
    sources["shapes"] = "mask.shapes";
  }
  if (inputs.maskFile !== undefined) {
    const { masked, file } = inputs.maskFile;
    for (let p = 0; p < bits.length; p++) if (masked[p] !== 0) bits[p]! |= MASK_REASONS.file;
    parameters["file"] = file;
    sources["file"] = "mask.file";
  }

  const auto = wanted.auto ?? [];
  let beamStop: StopOutline | undefined;
  if (auto.length > 0) {
    parameters["auto"] = auto;
    sources["auto"] = "mask.auto";
  }
  if (auto.includes("beam-stop")) {
    const [pitchX, pitchY] = metadata.pixelSize?.value ?? [1, 1];
    const shadow = findStopShadow({ width, height, counts, mask: bits }, { aspect: pitchY / pitchX });
    if (shadow.found) {
      beamStop = shadow.outline;
      addMask(bits, beamStopMask(shadow.outline, shadow.penumbra.value, width, height));
      parameters["beamStop"] = outlineInWords(shadow.outline);
      parameters["penumbra_px"] = shadow.penumbra.value;
      if (shadow.attached.length >= LEAST_ARM)
        warnings.push(
          `${shadow.attached.length} pixels beside the beam stop are far darker than the scattering around them, as behind an arm or wires: mask them with a shape`,
        );
    } else warnings.push(`no beam stop is masked: ${shadow.reason}`);
  }
  const kinds = auto.flatMap((kind) => (kind === "beam-stop" ? [] : [kind]));
  if (kinds.length > 0) {
    const found = autoMask({ width, height, counts, mask: bits }, kinds);
    addMask(bits, found.mask);
    parameters["found"] = found.reasons;
  }
  return { bits, parameters, sources, warnings, ...(beamStop && { beamStop }) };
}

/** In the units of files: px and degrees. */
function outlineInWords(outline: StopOutline): Record<string, unknown> {
  const place = { shape: outline.shape, x_px: outline.x, y_px: outline.y };
  if (outline.shape === "circle") return { ...place, radius_px: outline.radius };
  return { ...place, width_px: outline.width, height_px: outline.height, turn_deg: (outline.turn * 180) / Math.PI };
}

import { METADATA_FIELDS } from "../../core/model/metadata.ts";
import { describeFault, type Fault } from "../../core/model/result.ts";
import { RUN_ROLES, type RunRole } from "../../core/plan/plan.ts";
import { stepName } from "../../core/report/ledger-words.ts";

export const ROLE_LABELS: Readonly<Record<RunRole, string>> = {
  sample: "Sample",
  sampleTransmission: "Sample, direct beam",
  emptyCell: "Empty cell",
  emptyCellTransmission: "Empty cell, direct beam",
  emptyBeam: "Empty beam",
  blockedBeam: "Blocked beam",
  flood: "Flood",
};

/**
 * The plan's keys within a sentence, in the words that the window has for them: "runs.emptyBeam" is the run in the role
 * “empty beam”, "metadata.sample.monitorCounts" the sample's monitor counts in the plan.
 */
export function planKeysInWords(text: string): string {
  return text
    .replaceAll(/\bruns\.(\w+)(\[\d+\])?/g, (whole, name: string) => {
      const role = RUN_ROLES.find((one) => one === name);
      return role === undefined ? whole : `“${ROLE_LABELS[role].toLowerCase()}”`;
    })
    .replaceAll(/\bmetadata\.(\w+)\.(\w+)/g, (whole, scope: string, key: string) => {
      const field = METADATA_FIELDS.find(({ fileKey }) => fileKey === key);
      const role = RUN_ROLES.find((one) => one === scope);
      if (field === undefined || (role === undefined && scope !== "all")) return whole;
      const label = field.label.charAt(0).toLowerCase() + field.label.slice(1);
      return `“${label}” of ${role === undefined ? "all runs" : `“${ROLE_LABELS[role].toLowerCase()}”`} in the plan`;
    })
    .replaceAll(/\bcorrections\.(\w+)(?:\.\w+)*/g, (_, key: string) => `${stepName(key)} in the plan`)
    .replaceAll(/\bmask\.(edge_px|auto|shapes|file)\b/g, "mask in the plan");
}

/** A fault as the window says it. */
export function faultInWords(fault: Fault): string {
  return planKeysInWords(describeFault(fault));
}

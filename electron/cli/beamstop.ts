import { type Result, success } from "../../core/model/result.ts";
import { assessStop, STOP_CAUTION, stopPlan } from "../../core/plan/assess-stop.ts";
import { loadInputs } from "../../core/plan/inputs.ts";
import type { Plan } from "../../core/plan/plan.ts";
import { FileRunSource } from "../services/run-source.ts";
import { stopReportText } from "./beamstop-text.ts";
import type { Command } from "./command.ts";
import { fromPlanFolder, planFolder, readPlanFile, withSample } from "./plan-file.ts";
import { LIMIT_OPTIONS, readLimits } from "./stop-limits.ts";

export const beamstop: Command = {
  name: "beamstop",
  summary: "tell whether the beam stop covers the beam, and how to move it",
  arguments: ["FILE"],
  options: {
    direct: { type: "string", placeholder: "FILE", help: "a direct-beam frame, attenuated, taken without the stop" },
    plan: { type: "string", placeholder: "PLAN", help: "numbers, mask and direct beam that the file lacks" },
    ...LIMIT_OPTIONS,
  },
  details: [
    "The verdict is one of covered, marginal, leaking and cannot-tell, with its reason. Offsets are stop minus beam; the",
    "move is what to add to the stop's position, to the right and up as displayed. A number that can't be given is null",
    "in --json. Without a direct beam its centre comes from the symmetry of the scattering, its size from the apertures.",
    "",
    STOP_CAUTION,
  ].join("\n"),
  async run({ given, signal, onProgress }) {
    const [file = ""] = given.positionals;
    const limits = readLimits(given);
    if (!limits.ok) return limits;
    const planFile = given.values.get("plan");
    const folder = planFile === undefined ? process.cwd() : planFolder(planFile);
    const plan = await planOf(file, { planFile, folder, direct: given.values.get("direct") });
    if (!plan.ok) return plan;
    onProgress(0, file);
    const inputs = await loadInputs(stopPlan(plan.value), new FileRunSource(folder), { signal });
    if (!inputs.ok) return inputs;
    onProgress(0.5, "fitting the shadow");
    const report = assessStop(plan.value, inputs.value, limits.value);
    const { verdict, reason, ...rest } = report;
    return success({ json: { file, verdict, reason, ...rest }, text: stopReportText(report) });
  },
};

async function planOf(
  file: string,
  {
    planFile,
    folder,
    direct,
  }: { readonly planFile: string | undefined; readonly folder: string; readonly direct: string | undefined },
): Promise<Result<Plan>> {
  const read: Result<Plan> =
    planFile === undefined ? success({ planVersion: 1, runs: { sample: file } }) : await readPlanFile(planFile);
  if (!read.ok) return read;
  const plan = withSample(read.value, fromPlanFolder(folder, file));
  if (direct === undefined) return success(plan);
  // A direct beam that is named here is meant, whatever way to a centre the plan prefers.
  const runs = { ...plan.runs, emptyBeam: fromPlanFolder(folder, direct) };
  return success({ ...plan, runs, beamCentre: { method: "direct-beam" } });
}

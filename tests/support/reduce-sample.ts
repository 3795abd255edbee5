import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { reducePlan } from "../../core/plan/execute.ts";
import { parsePlan } from "../../core/plan/parse.ts";
import type { Plan } from "../../core/plan/plan.ts";
import type { Reduction } from "../../core/plan/reduction.ts";
import { FileRunSource } from "../../electron/services/run-source.ts";

export const SAMPLES = resolve(import.meta.dirname, "../../samples");

export function samplePlan(name: string): Plan {
  const file = resolve(SAMPLES, name);
  const plan = parsePlan(readFileSync(file, "utf8"), file);
  if (!plan.ok) throw new Error(plan.fault.message);
  return plan.value;
}

/** Reduces one sample run of a plan exactly as the command line does. */
export async function reduceSample(plan: Plan, sampleIndex = 0): Promise<Reduction> {
  const reduction = await reducePlan(plan, new FileRunSource(SAMPLES), {
    sampleIndex,
    signal: new AbortController().signal,
    version: "test",
  });
  if (!reduction.ok) throw new Error(`${reduction.fault.field}: ${reduction.fault.message}`);
  return reduction.value;
}

/** The part of samples/truth.json that tests compare with. */
export interface SamplesTruth {
  readonly camera: { readonly beamCentre_px: readonly [number, number]; readonly beamPerMonitor: number };
  readonly cell: { readonly transmission: number };
  readonly samples: Readonly<
    Record<
      string,
      {
        readonly model: Readonly<Record<string, number>>;
        readonly transmissionInCell: number;
        readonly radiusOfGyration_A?: number;
        readonly anisotropy: readonly {
          readonly qMin_1A: number;
          readonly qMax_1A: number;
          readonly alignment: number;
          readonly axis_deg: number | null;
        }[];
      }
    >
  >;
}

export function samplesTruth(): SamplesTruth {
  return JSON.parse(readFileSync(resolve(SAMPLES, "truth.json"), "utf8")) as SamplesTruth;
}

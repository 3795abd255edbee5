import type { Fault } from "../model/result.ts";
import { canonicalJson } from "./canonical-json.ts";
import type { Plan, PlanAverage, PlanBins } from "./plan.ts";

/** What the parts of a plan need of each other, as far as the plan alone can tell. */
export function consistencyFaults(plan: Plan): readonly Fault[] {
  return [
    ...sampleFaults(plan),
    ...transmissionFaults(plan),
    ...absoluteFaults(plan),
    ...centreFaults(plan),
    ...resolutionFaults(plan),
    ...averageFaults(plan.averages ?? []),
  ];
}

function inconsistent(field: string, message: string): Fault {
  return { code: "inconsistent", field, message: `${field}: ${message}` };
}

function missing(field: string, message: string): Fault {
  return { code: "missing", field, message: `${field}: ${message}` };
}

function sampleFaults({ runs }: Plan): Fault[] {
  const list = Array.isArray(runs.sample) ? (runs.sample as readonly unknown[]).map(canonicalJson) : [];
  return list.flatMap((reference, i) => {
    const first = list.indexOf(reference);
    return first === i ? [] : [inconsistent(`runs.sample[${i}]`, `the same run as runs.sample[${first}]`)];
  });
}

function transmissionFaults(plan: Plan): Fault[] {
  const { runs, metadata } = plan;
  const choice = plan.corrections?.transmission;
  const faults: Fault[] = [];
  const parts = [
    { role: "sample", beam: "sampleTransmission" },
    { role: "emptyCell", beam: "emptyCellTransmission" },
  ] as const;
  for (const { role, beam } of parts) {
    const field = `corrections.transmission.${role}`;
    const given = typeof choice === "string" ? choice : choice?.[role];
    if (runs[role] === undefined) {
      const orphan = runs[beam] !== undefined ? `runs.${beam}` : typeof given === "number" ? field : undefined;
      if (orphan !== undefined)
        faults.push(missing(`runs.${role}`, `${orphan} is given without the run that it belongs to`));
      continue;
    }
    const isKnown = typeof given === "number" || given === "none" || metadata?.[role]?.["transmission"] !== undefined;
    if (given === "measure" && runs[beam] === undefined)
      faults.push(missing(`runs.${beam}`, `needed to measure ${field}; give the run`));
    else if (runs[beam] !== undefined && runs.emptyBeam === undefined && (given === "measure" || !isKnown))
      faults.push(missing("runs.emptyBeam", `needed to measure ${field}; give the run`));
    else if (role === "emptyCell" && runs[beam] === undefined && !isKnown)
      faults.push(
        missing(
          field,
          `runs.emptyCell cannot be subtracted without its transmission: give a number, or runs.${beam} and runs.emptyBeam`,
        ),
      );
  }
  return [...faults, ...halfTransmissionFaults(plan)];
}

/** A cell is scaled by the ratio of the two transmissions; one of them alone would scale it wrongly. */
function halfTransmissionFaults({ runs, corrections }: Plan): Fault[] {
  const choice = corrections?.transmission;
  if (runs.emptyCell === undefined || typeof choice !== "object") return [];
  const { sample, emptyCell } = choice;
  if ((sample === "none") === (emptyCell === "none")) return [];
  const [off, on] = sample === "none" ? ["sample", "emptyCell"] : ["emptyCell", "sample"];
  return [
    inconsistent(
      `corrections.transmission.${off}`,
      `"none" here needs "none" for ${on} too, else the empty cell is scaled wrongly`,
    ),
  ];
}

function absoluteFaults({ runs, corrections }: Plan): Fault[] {
  const absolute = corrections?.absolute;
  if (absolute === undefined || absolute === "none") return [];
  const field = "corrections.absolute";
  const faults: Fault[] = [];
  if (absolute.method === "direct-beam") {
    if (runs.emptyBeam === undefined)
      faults.push(missing("runs.emptyBeam", `${field} by direct beam needs it; give the run`));
    if (corrections?.normaliseBy === "none")
      faults.push(inconsistent("corrections.normaliseBy", `${field} by direct beam needs "monitor" or "time"`));
    if (corrections?.solidAngle === "none")
      faults.push(inconsistent("corrections.solidAngle", `${field} by direct beam needs the solid angle`));
  }
  return faults;
}

function centreFaults({ runs, beamCentre }: Plan): Fault[] {
  if (beamCentre?.method !== "direct-beam") return [];
  const hasBeam = runs.emptyBeam ?? runs.sampleTransmission ?? runs.emptyCellTransmission;
  return hasBeam !== undefined
    ? []
    : [missing("runs.emptyBeam", `beamCentre.method "direct-beam" needs a direct-beam run; give one`)];
}

/** What one key says another would overrule in silence. */
function resolutionFaults({ resolution }: Plan): Fault[] {
  const law = "resolution.wavelengthLaw";
  if (resolution?.wavelengthLaw === undefined) return [];
  if (resolution.timeOfFlight !== undefined)
    return [inconsistent(law, "is for wavelengthSpread, which resolution.timeOfFlight replaces: give one of them")];
  return resolution.method === "full-widths" && resolution.wavelengthLaw !== "gaussian"
    ? [inconsistent(law, `method "full-widths" takes every width as that of a Gaussian: leave it out`)]
    : [];
}

function averageFaults(averages: readonly PlanAverage[]): Fault[] {
  // File systems that ignore case must hold the curves of a plan side by side.
  const ids = averages.map(({ id }) => id.toLowerCase());
  return averages.flatMap((average, i) => {
    const place = `averages[${i}]`;
    const first = ids.indexOf(ids[i]!);
    const faults =
      first === i ? [] : [inconsistent(`${place}.id`, `"${average.id}" is already the id of averages[${first}]`)];
    if (average.kind === "annulus") {
      if (!(average.qMax > average.qMin)) faults.push(inconsistent(`${place}.qMax`, "must be larger than qMin"));
    } else faults.push(...binFaults(`${place}.bins`, average.bins));
    return faults;
  });
}

function binFaults(place: string, bins: PlanBins | undefined): Fault[] {
  if (bins === undefined || bins.spacing === "edges") return [];
  const { qMin, qMax } = bins;
  return qMin === undefined || qMax === undefined || qMax > qMin
    ? []
    : [inconsistent(`${place}.qMax`, "must be larger than qMin")];
}

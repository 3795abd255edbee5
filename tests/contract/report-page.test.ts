import { expect, it } from "vitest";
import { buildOutputs } from "../../core/report/outputs.ts";
import { escapeXml, oneLine } from "../../core/report/text.ts";
import { EXPERIMENT_PLAN, reduceExperiment, SimulatedExperiment } from "../support/simulated-experiment.ts";

it("the report is one page with all of it: figures, every step, input, warning, point, and the plan", async () => {
  const reduction = await reduceExperiment(new SimulatedExperiment().drawn(11), {
    ...EXPERIMENT_PLAN,
    title: "Spheres <one per cent>",
    averages: [...EXPERIMENT_PLAN.averages!, { id: "ring", kind: "annulus", qMin: 0.02, qMax: 0.03, count: 36 }],
  });
  const built = await buildOutputs(reduction, ["report"], {}, new AbortController().signal);
  if (!built.ok) throw new Error(built.fault.message);
  expect(built.value.map(({ path }) => path)).toEqual(["report.html", "summary.json", "ledger.json"]);
  const page = new TextDecoder().decode(built.value[0]!.bytes);
  const shown = (text: string) => escapeXml(oneLine(text));

  // Nothing is fetched: no script, no sheet, no picture but those within.
  expect(page).not.toMatch(/<(script|link|iframe|object|embed|base)\b/i);
  for (const [, address] of page.matchAll(/(?:src|href)\s*=\s*"([^"]*)"/g)) expect(address).toMatch(/^(data:|#)/);
  expect(page).not.toMatch(/url\((?!["']?(data:|#))/);

  // Counts, intensity and two averages; the empty beam, and the direct beams through sample and cell.
  expect(page.match(/<figure>/g)).toHaveLength(7);
  expect(page.match(/the circle in which its counts were summed/g)).toHaveLength(3);
  expect(page).toContain("Spheres &lt;one per cent&gt;");
  const { steps, inputs } = reduction.ledger;
  expect(page.match(/class="status"/g)).toHaveLength(steps.length);
  for (const { reason } of steps) if (reason !== undefined) expect(page).toContain(shown(reason));
  for (const { file, sha256 } of inputs) for (const text of [file, sha256]) expect(page).toContain(shown(text));
  expect(reduction.warnings.length).toBeGreaterThan(0);
  for (const warning of reduction.warnings) expect(page).toContain(shown(warning));

  // How the transmissions were measured: beams, radius, counts.
  for (const text of ["radius_px: 5", "sampleTransmission.netCounts", "emptyBeam.netCounts", "obliquePath: yes"])
    expect(page).toContain(text);
  expect(page).toContain("Known in common to");
  for (const name of ["transmission of the sample in its cell", "transmission of the empty cell", "absolute"])
    expect(page).toContain(name);

  const [curve] = reduction.curves;
  const [ring] = reduction.profiles;
  const tables = [...page.matchAll(/<table class="numbers">[\s\S]*?<\/table>/g)].map(([table]) => table);
  expect(tables.map((table) => (table.match(/<tr>/g) ?? []).length - 1)).toEqual([curve!.q.length, ring!.phi.length]);
  expect(tables[0]).toContain("scatter (1/cm)");
  expect(tables[0]).toContain(`<td>${Number(curve!.intensity[3]!.toPrecision(5))}</td>`);
  expect(page).toContain(shown('"normaliseBy": "monitor"'));
});

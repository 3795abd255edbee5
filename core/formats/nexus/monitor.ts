import type { MetadataCollector } from "./collect.ts";
import { type Field, numberField, textField } from "./fields.ts";
import { groupsBelow, hasClass, type Tree, type TreeGroup } from "./tree.ts";

const COUNT: { kind: "count"; range: "positive"; bareUnit: string } = {
  kind: "count",
  range: "positive",
  bareUnit: "counts",
};
/** A preset may be written in units of 10^n counts. */
const LARGEST_PRESET_POWER = 9;

/**
 * The monitor that normalises. The one called `control` is the main one (NeXus manual, NXmonitor); where there is none
 * and the run was counted to a preset, the monitor whose count is that preset, perhaps times a power of ten. That is a
 * guess and marked as one. Without either, none is taken. All others are shown.
 */
export function collectMonitor(
  tree: Tree,
  entry: TreeGroup,
  detector: TreeGroup | undefined,
  out: MetadataCollector,
): void {
  const groups = groupsBelow(entry, hasClass("NXmonitor"));
  const monitors = groups.flatMap((group) => {
    const field = monitorCount(tree, group);
    return field === undefined ? [] : [{ group, field }];
  });
  const control = monitors.find(({ group }) => group.name === "control");
  const presets = [...groups, ...(detector === undefined ? [] : [detector])].flatMap((group) => {
    const preset = numberField(tree, group, "preset");
    return preset === undefined || isTimer(tree, group) ? [] : [preset];
  });
  const matching = control ?? monitors.find(({ field }) => presets.some((preset) => matches(field, preset)));
  if (matching !== undefined && matching === control) out.offer("monitorCounts", matching.field, COUNT);
  else if (matching !== undefined) {
    const preset = presets.find((candidate) => matches(matching.field, candidate))!;
    out.offer("monitorCounts", matching.field, COUNT, {
      guessed: true,
      note: `no monitor is called control; this one stands at the preset ${preset.asWritten} of ${preset.path}`,
    });
  } else if (monitors.length === 1 && monitors[0] !== undefined)
    out.offer("monitorCounts", monitors[0].field, COUNT, { guessed: true, note: "the only monitor of the entry" });
  for (const { field } of monitors) if (field !== matching?.field) show(field, out);
  const own = detector === undefined ? undefined : numberField(tree, detector, "monitor_counts");
  if (own !== undefined) show(own, out);
  if (out.taken.monitorCounts === undefined && monitors.length > 0)
    out.warnings.push(`which of ${monitors.length} monitors normalises is not stated: give monitorCounts`);
}

function show(field: Field, out: MetadataCollector): void {
  if (out.taken.monitorCounts?.from === field.path) return;
  out.show("monitorCounts", { value: field.values[0]!, from: field.path, asWritten: field.asWritten });
}

function isTimer(tree: Tree, group: TreeGroup): boolean {
  const mode = textField(tree, group, "mode") ?? textField(tree, group, "count_mode");
  return mode !== undefined && /^time/i.test(mode.value);
}

function monitorCount(tree: Tree, group: TreeGroup): Field | undefined {
  for (const name of ["integral", "counts", "count", "data"]) {
    const field = numberField(tree, group, name);
    if (field === undefined) continue;
    if (field.values.length === 1) return field;
    const sum = field.values.reduce((total, value) => total + value, 0);
    return { ...field, values: Float64Array.of(sum), asWritten: `sum of ${field.values.length} values: ${sum}` };
  }
  return undefined;
}

function matches(count: Field, preset: Field): boolean {
  let wanted = preset.values[0]!;
  if (!(wanted > 0)) return false;
  for (let power = 0; power <= LARGEST_PRESET_POWER; power++, wanted *= 10) if (count.values[0] === wanted) return true;
  return false;
}

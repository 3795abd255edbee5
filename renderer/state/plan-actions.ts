import { averagesOf } from "../../core/plan/defaults.ts";
import type {
  MaskShape,
  Plan,
  PlanAverage,
  PlanBeamCentre,
  PlanCorrections,
  PlanMetadata,
  RunReference,
  RunRole,
} from "../../core/plan/plan.ts";
import { referencePath, samplesOf } from "./plan-reading.ts";
import { ROLE_LABELS } from "./plan-words.ts";

export type AutoMask = "beam-stop" | "hot" | "dead";
type MetadataValue = PlanMetadata[string];
export type RunSourceChoice = Omit<Exclude<RunReference, string>, "file">;

/** Every way in which a person changes a plan. */
export type PlanAction =
  | { readonly type: "move-centre"; readonly x: number; readonly y: number }
  | { readonly type: "choose-centre-method"; readonly beamCentre: PlanBeamCentre }
  | { readonly type: "add-shape"; readonly shape: MaskShape }
  | { readonly type: "replace-shape"; readonly index: number; readonly shape: MaskShape }
  | { readonly type: "remove-shape"; readonly index: number }
  | { readonly type: "clear-shapes" }
  | { readonly type: "switch-auto-mask"; readonly kind: AutoMask; readonly on: boolean }
  | { readonly type: "set-edge"; readonly edge_px: number }
  | { readonly type: "set-mask-file"; readonly file: string | undefined }
  | { readonly type: "add-average"; readonly average: PlanAverage }
  | { readonly type: "replace-average"; readonly id: string; readonly average: PlanAverage }
  | { readonly type: "remove-average"; readonly id: string }
  | {
      readonly type: "set-correction";
      readonly key: keyof PlanCorrections;
      /** Undefined: back to the default. */
      readonly value: PlanCorrections[keyof PlanCorrections];
    }
  | {
      readonly type: "set-metadata";
      readonly scope: RunRole | "all";
      readonly fileKey: string;
      /** Undefined: what the file says. */
      readonly value: MetadataValue;
    }
  | {
      readonly type: "set-beam-radius";
      /** px; undefined: found by itself. */
      readonly radius_px: number | undefined;
    }
  | { readonly type: "set-role"; readonly path: string; readonly role: RunRole | undefined }
  | {
      readonly type: "choose-source";
      readonly path: string;
      /** What is read from the file; a part that is undefined is left to the reader. */
      readonly source: RunSourceChoice;
    }
  | { readonly type: "set-title"; readonly title: string };

/** What an action does, in words, for "Undo: ..." */
export function describeAction(action: PlanAction): string {
  switch (action.type) {
    case "move-centre":
      return "move the beam centre";
    case "choose-centre-method":
      return "choose how the centre is found";
    case "add-shape":
      return "draw a mask";
    case "replace-shape":
      return "change a mask shape";
    case "remove-shape":
      return "remove a mask shape";
    case "clear-shapes":
      return "remove all mask shapes";
    case "switch-auto-mask":
      return `${action.on ? "mask" : "unmask"} ${action.kind === "beam-stop" ? "the beam stop" : `${action.kind} pixels`}`;
    case "set-edge":
      return "change the masked edge";
    case "set-mask-file":
      return action.file === undefined ? "remove the mask file" : "use a mask file";
    case "add-average":
      return `add ${action.average.id}`;
    case "replace-average":
      return `change ${action.average.id}`;
    case "remove-average":
      return `remove ${action.id}`;
    case "set-correction":
      return "change a correction";
    case "set-metadata":
      return "change a number of a run";
    case "set-beam-radius":
      return "change the radius of the direct beam";
    case "set-role":
      return action.role === undefined ? "take a run out" : `use a run as ${ROLE_LABELS[action.role].toLowerCase()}`;
    case "choose-source":
      return "change what is read from a file";
    case "set-title":
      return "change the title";
  }
}

/** The plan after an action; the same object where nothing changes. */
export function applyAction(plan: Plan, action: PlanAction): Plan {
  switch (action.type) {
    case "move-centre":
      return moveCentre(plan, action.x, action.y);
    case "choose-centre-method":
      return { ...plan, beamCentre: action.beamCentre };
    case "add-shape":
      return withShapes(plan, [...shapesOf(plan), action.shape]);
    case "replace-shape":
      return withShapes(
        plan,
        shapesOf(plan).map((shape, i) => (i === action.index ? action.shape : shape)),
      );
    case "remove-shape":
      return withShapes(
        plan,
        shapesOf(plan).filter((_, i) => i !== action.index),
      );
    case "clear-shapes":
      return shapesOf(plan).length === 0 ? plan : withShapes(plan, []);
    case "switch-auto-mask":
      return switchAutoMask(plan, action.kind, action.on);
    case "set-edge":
      return { ...plan, mask: { ...plan.mask, edge_px: action.edge_px } };
    case "set-mask-file":
      return { ...plan, mask: without({ ...plan.mask, file: action.file }) };
    case "add-average":
      return { ...plan, averages: [...averagesOf(plan), plain(action.average)] };
    case "replace-average":
      return {
        ...plan,
        averages: averagesOf(plan).map((average) => (average.id === action.id ? plain(action.average) : average)),
      };
    case "remove-average":
      return { ...plan, averages: averagesOf(plan).filter(({ id }) => id !== action.id) };
    case "set-correction":
      return { ...plan, corrections: plain({ ...plan.corrections, [action.key]: action.value }) };
    case "set-metadata":
      return setMetadata(plan, action.scope, action.fileKey, action.value);
    case "set-beam-radius":
      return setBeamRadius(plan, action.radius_px);
    case "set-role":
      return setRole(plan, action.path, action.role);
    case "choose-source":
      return chooseSource(plan, action.path, action.source);
    case "set-title":
      return { ...plan, title: action.title };
  }
}

function shapesOf(plan: Plan): readonly MaskShape[] {
  return plan.mask?.shapes ?? [];
}

function withShapes(plan: Plan, shapes: readonly MaskShape[]): Plan {
  return { ...plan, mask: { ...plan.mask, shapes } };
}

/** Leaves out the keys that hold undefined, so that a plan written to a file and read again is the same plan. */
function without<T extends object>(value: T): T {
  return Object.fromEntries(Object.entries(value).filter(([, entry]) => entry !== undefined)) as T;
}

/** The same at every depth: what a plan's JSON holds. */
function plain<T>(value: T): T {
  return JSON.parse(JSON.stringify(value)) as T;
}

/** A dragged centre is a given centre, and it holds for every run of the plan. */
function moveCentre(plan: Plan, x: number, y: number): Plan {
  const sample = plan.metadata?.sample;
  const cleared =
    sample?.["beamCentre_px"] === undefined ? plan : setMetadata(plan, "sample", "beamCentre_px", undefined);
  return { ...setMetadata(cleared, "all", "beamCentre_px", [x, y]), beamCentre: { method: "given" } };
}

function switchAutoMask(plan: Plan, kind: AutoMask, on: boolean): Plan {
  const others = (plan.mask?.auto ?? []).filter((auto) => auto !== kind);
  return { ...plan, mask: { ...plan.mask, auto: on ? [...others, kind] : others } };
}

function setMetadata(plan: Plan, scope: RunRole | "all", fileKey: string, value: MetadataValue): Plan {
  const section = without({ ...plan.metadata?.[scope], [fileKey]: value });
  const metadata = without({
    ...plan.metadata,
    [scope]: Object.keys(section).length === 0 ? undefined : section,
  });
  const { metadata: _old, ...rest } = plan;
  return Object.keys(metadata).length === 0 ? rest : { ...rest, metadata };
}

/**
 * The radius within which direct beams are summed: wherever the plan states one, since transmissions and the absolute
 * scale are to see the same beam; where none is stated, with the absolute scale, or else with the transmissions.
 */
function setBeamRadius(plan: Plan, radius_px: number | undefined): Plan {
  const { absolute, transmission } = plan.corrections ?? {};
  const byBeam = typeof absolute === "object" && absolute.method === "direct-beam" ? absolute : undefined;
  const own = typeof transmission === "object" ? transmission : undefined;
  const changed: PlanCorrections = {
    ...plan.corrections,
    ...(byBeam !== undefined && { absolute: { ...byBeam, directBeamRadius_px: radius_px } }),
    ...((byBeam === undefined || own?.radius_px !== undefined) && {
      transmission: { ...(own ?? allMeasured(plan)), radius_px },
    }),
  };
  return { ...plan, corrections: plain(changed) };
}

/** What the word "measure", or no word at all, stands for. */
function allMeasured({ runs, corrections }: Plan): Exclude<PlanCorrections["transmission"], string | undefined> {
  if (corrections?.transmission === undefined) return {};
  return { sample: "measure", ...(runs.emptyCell !== undefined && { emptyCell: "measure" as const }) };
}

/**
 * Gives a file a role. Samples collect in a list; any other role holds one run, so a new one takes the place of the old.
 * The last sample can't be taken out: a plan needs one.
 */
function setRole(plan: Plan, path: string, role: RunRole | undefined): Plan {
  const samples = samplesOf(plan);
  const remaining = samples.filter((reference) => referencePath(reference) !== path);
  const known = Object.values(plan.runs)
    .flat()
    .find((reference) => reference !== undefined && referencePath(reference) === path);
  const reference: RunReference = known ?? path;
  if (role !== "sample" && remaining.length === 0) return plan;
  const others = Object.fromEntries(
    Object.entries(plan.runs).filter(
      ([key, value]) => key !== "sample" && !isSame(value as RunReference | undefined, path),
    ),
  );
  const sampleList =
    role !== "sample" ? remaining : remaining.length === samples.length ? [...samples, reference] : samples;
  const sample = sampleList.length === 1 && sampleList[0] !== undefined ? sampleList[0] : sampleList;
  const runs = { ...others, sample, ...(role !== undefined && role !== "sample" ? { [role]: reference } : {}) };
  return { ...plan, runs };
}

/** Every place of the plan that names the file: one file is read in one way. */
function chooseSource(plan: Plan, path: string, source: RunSourceChoice): Plan {
  const chosen = without(source);
  const reference: RunReference = Object.keys(chosen).length === 0 ? path : { file: path, ...chosen };
  const renewed = (old: RunReference) => (referencePath(old) === path ? reference : old);
  const runs = Object.fromEntries(
    Object.entries(plan.runs).flatMap(([role, value]) =>
      value === undefined ? [] : [[role, Array.isArray(value) ? value.map(renewed) : renewed(value as RunReference)]],
    ),
  ) as Plan["runs"];
  return { ...plan, runs };
}

function isSame(reference: RunReference | undefined, path: string): boolean {
  return reference !== undefined && referencePath(reference) === path;
}

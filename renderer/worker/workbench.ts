import { residualParts } from "../../core/anisotropy/residual-parts.ts";
import { averageMembership } from "../../core/averaging/average-frame.ts";
import type { Frame } from "../../core/model/frame.ts";
import { type Fault, failure, type Result, success } from "../../core/model/result.ts";
import { type AnisotropyAssessment, assessAnisotropyInParts, withSectors } from "../../core/plan/assess-anisotropy.ts";
import { assessStop, stopPlan } from "../../core/plan/assess-stop.ts";
import { averageChoice, buildAverages } from "../../core/plan/build-averages.ts";
import { averagesOf } from "../../core/plan/defaults.ts";
import { type ReduceOptions, reducePlan } from "../../core/plan/execute.ts";
import { loadInputs, sampleReferences } from "../../core/plan/inputs.ts";
import { validatePlan } from "../../core/plan/parse.ts";
import type { Plan } from "../../core/plan/plan.ts";
import { walkPoint } from "../../core/plan/point-walk.ts";
import { readBank } from "../../core/plan/read-bank.ts";
import type { Reduction, RunSource } from "../../core/plan/reduction.ts";
import { newReductionCache } from "../../core/plan/reduction-cache.ts";
import { scatterWarnings } from "../../core/plan/scatter-warnings.ts";
import type { OutputServices } from "../../core/report/output-services.ts";
import { buildOutputs } from "../../core/report/outputs.ts";
import { reductionFigures } from "../../core/report/reduction-figures.ts";
import { anisotropyView, type SeriesSampleView } from "./anisotropy-view.ts";
import { directBeamViews } from "./direct-beam-view.ts";
import { Follower } from "./follow.ts";
import { inParts } from "./in-parts.ts";
import type { Answer, Ask } from "./protocol.ts";

type Options = Pick<ReduceOptions, "signal" | "onProgress" | "cache">;

interface Made {
  readonly serial: number;
  readonly plan: Plan;
  readonly sampleIndex: number;
  readonly reduction: Reduction;
}

/** Does what the window asks, and keeps what it made last. */
export class Workbench {
  readonly #source: RunSource;
  readonly #services: OutputServices;
  readonly #version: string;
  readonly #frameIds = new WeakMap<Frame["counts"], string>();
  #nextFrame = 1;
  #serial = 0;
  #made: Made | undefined;
  /** Runs and stages of the reduction on show: a change recomputes what depends on it. */
  #cache = newReductionCache();
  #follower: Follower | undefined;
  /** Sectors of another width need no new report. */
  #analysed:
    | { readonly serial: number; readonly field_deg: number | undefined; readonly assessed: AnisotropyAssessment }
    | undefined;

  constructor(parts: { readonly source: RunSource; readonly services: OutputServices; readonly version: string }) {
    this.#source = parts.source;
    this.#services = parts.services;
    this.#version = parts.version;
  }

  /** Files were replaced: what was made of them no longer holds. */
  forget(): void {
    this.#made = undefined;
    this.#analysed = undefined;
    this.#follower = undefined;
    this.#cache = newReductionCache();
  }

  async describe(
    { reference, role }: Ask<"describe-run">,
    { signal }: Options,
  ): Promise<Result<Answer<"describe-run">>> {
    const opened = await this.#source.openRun(reference, role, signal);
    if (!opened.ok) return opened;
    const { run } = opened.value;
    try {
      const { name, formatTitle, metadata, alternatives, notes, warnings } = run;
      const banks = run.banks.map(({ name: bank, path, width, height, frames, axis, metadata: own }) => ({
        name: bank,
        path,
        width,
        height,
        frames,
        axis,
        metadata: own,
      }));
      return success({ name, formatTitle, metadata, alternatives, banks, notes, warnings });
    } finally {
      run.close();
    }
  }

  async readFrame({ reference }: Ask<"read-frame">, { signal }: Options): Promise<Result<Answer<"read-frame">>> {
    const opened = await this.#source.openRun(reference, "sample", signal);
    if (!opened.ok) return opened;
    const { run, file } = opened.value;
    try {
      const [bank] = run.banks;
      if (bank === undefined) return failure("missing", `${file} holds no detector frame`, { file });
      const wanted = typeof reference === "string" ? undefined : reference.frame;
      const read = await readBank(bank, wanted, { signal, file, field: "runs.sample" });
      if (!read.ok) return read;
      const { width, height, rowOrder, transpose, counts } = read.value.frame;
      return success({ width, height, orientation: { rowOrder, transpose }, counts: counts.slice() });
    } finally {
      run.close();
    }
  }

  async reduce({ plan, sampleIndex, knownFrame }: Ask<"reduce">, options: Options): Promise<Result<Answer<"reduce">>> {
    const start = performance.now();
    const checked = validatePlan(plan);
    if (!checked.ok) return checked;
    const reduced =
      this.#again(plan, sampleIndex) ?? (await this.#reduce(plan, sampleIndex, { ...options, cache: this.#cache }));
    if (!reduced.ok) return reduced;
    const reduction = reduced.value;
    this.#made = { serial: ++this.#serial, plan, sampleIndex, reduction };
    if (this.#follower?.renew(reduction, averagesOf(plan)) === false) this.#follower = undefined;
    // What stays here: large maps, other runs' frames, and the resolution, whose functions no message can carry.
    const {
      frame,
      estimate: _estimate,
      maps: _maps,
      resolution: _resolution,
      directBeams: _directBeams,
      ...rest
    } = reduction;
    const id = this.#frameId(frame);
    return success({
      ...rest,
      serial: this.#serial,
      frame: {
        id,
        width: frame.width,
        height: frame.height,
        orientation: { rowOrder: frame.rowOrder, transpose: frame.transpose },
        counts: id === knownFrame ? undefined : frame.counts.slice(),
        warnings: frame.warnings,
      },
      mask: reduction.maps.mask.slice(),
      duration_ms: performance.now() - start,
    });
  }

  follow({ beamCentre, averages }: Ask<"follow">): Result<Answer<"follow">> {
    const start = performance.now();
    const made = this.#made;
    if (made === undefined) return nothingMade();
    const followed = this.#followerOf(made).follow(beamCentre, averages);
    return success({ ...followed, duration_ms: performance.now() - start });
  }

  /** Gets ready for a drag of what is on show, a part at a time. */
  *prepareFollow(): Generator<undefined, void> {
    const made = this.#made;
    if (made === undefined) return;
    const follower = this.#followerOf(made);
    yield;
    yield* follower.preparations();
  }

  binMap({ averageId }: Ask<"bin-map">): Result<Answer<"bin-map">> {
    const made = this.#made;
    const average = made === undefined ? undefined : averagesOf(made.plan).find(({ id }) => id === averageId);
    if (made === undefined || average === undefined) return nothingMade();
    const { geometry, maps, estimate } = made.reduction;
    const membership = averageMembership(averageChoice(average), { geometry, maps, mask: estimate.mask });
    if (!membership.ok) return membership;
    const bins = membership.value.binMap.index;
    // Masked pixels made no point, so the lamp leaves them dark.
    for (let p = 0; p < bins.length; p++) if (estimate.mask[p] !== 0) bins[p] = -1;
    return success({ serial: made.serial, bins });
  }

  async walkPoint({ averageId, index }: Ask<"walk-point">, { signal }: Options): Promise<Result<Answer<"walk-point">>> {
    const made = this.#made;
    const map = this.binMap({ averageId });
    const average = [...(made?.reduction.curves ?? []), ...(made?.reduction.profiles ?? [])].find(
      ({ id }) => id === averageId,
    );
    if (made === undefined || average === undefined) return nothingMade();
    if (!map.ok) return map;
    const bin = average.bin[index];
    const { bins } = map.value;
    const pixels: number[] = [];
    for (let p = 0; p < bins.length; p++) if (bins[p] === bin) pixels.push(p);
    const { plan, sampleIndex, reduction } = made;
    const mask = this.#cache.mask.value;
    const inputs = await loadInputs(plan, this.#source, { sampleIndex, signal, cache: this.#cache });
    if (!inputs.ok) return inputs;
    const walk = walkPoint(plan, inputs.value, { geometry: reduction.geometry, pixels, mask });
    return walk.ok ? success({ walk: walk.value }) : walk;
  }

  /** In parts, with pauses for what the window asks meanwhile. */
  async analyse(ask: Ask<"analyse">, { signal }: Options): Promise<Result<Answer<"analyse">>> {
    const made = this.#made;
    if (made === undefined) return nothingMade();
    const { serial, reduction } = made;
    const known = this.#analysed;
    const assessed =
      known !== undefined && known.serial === serial && known.field_deg === ask.field_deg
        ? withSectors(known.assessed, reduction, ask)
        : await inParts(assessAnisotropyInParts(reduction, ask), signal);
    this.#analysed = { serial, field_deg: ask.field_deg, assessed };
    return success({ serial, ...anisotropyView(assessed, reduction.unit) });
  }

  residual({ part }: Ask<"residual">): Result<Answer<"residual">> {
    const made = this.#made;
    if (made === undefined) return nothingMade();
    return success({ serial: made.serial, residual: Float32Array.from(residualParts(made.reduction)[part]) });
  }

  /** Every sample of the plan, one after the other; what is on show stays as it is. */
  async series({ plan }: Ask<"series">, options: Options): Promise<Result<Answer<"series">>> {
    const checked = validatePlan(plan);
    if (!checked.ok) return checked;
    const references = sampleReferences(plan);
    const samples: SeriesSampleView[] = [];
    const faults: Fault[] = [];
    for (const [sampleIndex, reference] of references.entries()) {
      const file = typeof reference === "string" ? reference : reference.file;
      options.onProgress?.(sampleIndex / references.length, file);
      const reduced = await reducePlan(plan, this.#source, {
        sampleIndex,
        signal: options.signal,
        version: this.#version,
      });
      if (!reduced.ok) {
        faults.push({ ...reduced.fault, file: reduced.fault.file ?? file });
        continue;
      }
      const assessed = await inParts(assessAnisotropyInParts(reduced.value), options.signal);
      const { annuli } = anisotropyView(assessed, reduced.value.unit);
      samples.push({ file, metadata: reduced.value.metadata, annuli });
    }
    return success({ samples, faults });
  }

  async assessStop(
    { plan, sampleIndex, limits }: Ask<"assess-stop">,
    { signal }: Options,
  ): Promise<Result<Answer<"assess-stop">>> {
    const inputs = await loadInputs(stopPlan(plan), this.#source, { sampleIndex, signal });
    return inputs.ok ? success(assessStop(plan, inputs.value, limits)) : inputs;
  }

  async directBeams({ plan }: Ask<"direct-beams">, { signal }: Options): Promise<Result<Answer<"direct-beams">>> {
    return success({ beams: await directBeamViews(plan, this.#source, signal) });
  }

  async drawFigure({ name, scale }: Ask<"draw-figure">): Promise<Result<Answer<"draw-figure">>> {
    const made = this.#made;
    if (made === undefined) return nothingMade();
    const figure = reductionFigures(made.reduction).find((entry) => entry.name === name);
    if (figure === undefined) return failure("missing", `there is no figure ${name}: its average has no points`);
    const { rasterise } = this.#services;
    if (scale !== undefined && rasterise === undefined) throw new TypeError("a picture needs the service rasterise");
    return success({ svg: figure.svg, png: scale === undefined ? undefined : await rasterise?.(figure.svg, scale) });
  }

  /** Runs the whole plan anew, as the command line does: the files are the same to the byte. */
  async export({ plan, sampleIndex, outputs }: Ask<"export">, options: Options): Promise<Result<Answer<"export">>> {
    const checked = validatePlan(plan);
    if (!checked.ok) return checked;
    const reduced = await this.#reduce(plan, sampleIndex, options);
    if (!reduced.ok) return reduced;
    options.onProgress?.(1, "writing");
    const files = await buildOutputs(reduced.value, outputs, this.#services, options.signal);
    return files.ok ? success({ sampleFile: reduced.value.sampleFile, files: files.value }) : files;
  }

  #reduce(plan: Plan, sampleIndex: number, options: Options): Promise<Result<Reduction>> {
    return reducePlan(plan, this.#source, { ...options, sampleIndex, version: this.#version });
  }

  /** Where nothing but the averages changed, the corrected frame still holds, and only they are made anew. */
  #again(plan: Plan, sampleIndex: number): Result<Reduction> | undefined {
    const made = this.#made;
    if (made === undefined || made.sampleIndex !== sampleIndex || !differsInAveragesOnly(made.plan, plan))
      return undefined;
    const { reduction } = made;
    const { geometry, resolution, maps, unit, estimate } = reduction;
    const averages = buildAverages(plan, estimate, { geometry, maps, unit, resolution });
    if (!averages.ok) return averages;
    const { curves, profiles } = averages.value;
    const old = new Set([...reduction.curves, ...reduction.profiles].flatMap(scatterWarnings));
    const warnings = [...reduction.warnings.filter((warning) => !old.has(warning)), ...averages.value.warnings];
    return success({ ...reduction, curves, profiles, warnings, ledger: { ...reduction.ledger, plan, warnings } });
  }

  #followerOf({ reduction, plan }: Made): Follower {
    this.#follower ??= new Follower(reduction, averagesOf(plan));
    return this.#follower;
  }

  #frameId({ counts }: Frame): string {
    const known = this.#frameIds.get(counts);
    if (known !== undefined) return known;
    const id = `frame-${this.#nextFrame++}`;
    this.#frameIds.set(counts, id);
    return id;
  }
}

function differsInAveragesOnly(before: Plan, after: Plan): boolean {
  const { averages: _before, outputs: _outputs, ...kept } = before;
  const { averages: _after, outputs: _others, ...now } = after;
  return JSON.stringify(kept) === JSON.stringify(now);
}

function nothingMade() {
  return failure("incomplete", "no frame is reduced yet");
}

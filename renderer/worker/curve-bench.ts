import { sha256 } from "@noble/hashes/sha2.js";
import { bytesToHex } from "@noble/hashes/utils.js";
import { binEdgesOver } from "../../core/averaging/bins.ts";
import { fitStandard, type StandardFit } from "../../core/corrections/standard.ts";
import { rebinCurve, scaleCurve, subtractCurve } from "../../core/curves/arithmetic.ts";
import type { CurvePoints } from "../../core/curves/curve-points.ts";
import { intensityUnitOf, pointsFromFile } from "../../core/curves/from-file.ts";
import { type ManyMerged, mergeMany, type NamedPoints } from "../../core/curves/merge-many.ts";
import { type ModelChoice, modelIntensity } from "../../core/curves/model-choice.ts";
import { fitGuinier, fitPorod, type GuinierFit, type PorodFit } from "../../core/curves/quick-look.ts";
import { holdsCurves } from "../../core/formats/curves/holds-curves.ts";
import { openCurves } from "../../core/formats/curves/open-curves.ts";
import type { OpenHdf5 } from "../../core/formats/reader.ts";
import type { PlanBins } from "../../core/model/plan.ts";
import { type Result, success } from "../../core/model/result.ts";
import { type CurveFormat, type DerivedCurve, derivedCurveFile } from "../../core/report/derived-curve.ts";
import type { WriteHdf5 } from "../../core/report/output-services.ts";
import { blobSource } from "./blob-source.ts";
import { rest } from "./reading-watch.ts";

/** A curve of a file, as the window keeps it. */
export interface FileCurve {
  readonly file: string;
  readonly title: string;
  readonly unit: string;
  readonly points: CurvePoints;
  readonly notes: readonly string[];
  /** Of the whole file. */
  readonly sha256: string;
}

interface NamedBlob {
  readonly name: string;
  readonly blob: Blob;
}

export interface FitRange {
  readonly qMin: number;
  readonly qMax: number;
}

/** What can be done with finished curves, and what comes of it. */
export interface CurveTools {
  readonly guinier: { readonly ask: { readonly curve: CurvePoints } & FitRange; readonly answer: GuinierFit };
  readonly porod: { readonly ask: { readonly curve: CurvePoints } & FitRange; readonly answer: PorodFit };
  readonly merge: {
    readonly ask: { readonly curves: readonly NamedPoints[]; readonly withConstant: boolean } & FitRange;
    readonly answer: ManyMerged;
  };
  /** `curve` brought onto `reference` by one factor. */
  readonly scale: {
    readonly ask: { readonly curve: CurvePoints; readonly reference: CurvePoints } & FitRange;
    readonly answer: { readonly fit: StandardFit; readonly points: CurvePoints };
  };
  /** `curve` less `factor` times `other`. */
  readonly subtract: {
    readonly ask: { readonly curve: CurvePoints; readonly other: CurvePoints; readonly factor: number };
    readonly answer: { readonly points: CurvePoints; readonly leftOut: number };
  };
  readonly rebin: {
    readonly ask: { readonly curve: CurvePoints; readonly bins: PlanBins };
    readonly answer: { readonly points: CurvePoints; readonly edges: Float64Array };
  };
  readonly model: {
    readonly ask: { readonly model: ModelChoice; readonly q: Float64Array };
    readonly answer: Float64Array;
  };
  readonly write: {
    readonly ask: { readonly curve: DerivedCurve; readonly format: CurveFormat };
    readonly answer: Uint8Array<ArrayBuffer>;
  };
}

export type ToolName = keyof CurveTools;
export type ToolAsk = { readonly [T in ToolName]: { readonly tool: T; readonly ask: CurveTools[T]["ask"] } }[ToolName];
export type ToolAnswer = CurveTools[ToolName]["answer"];

/** Reads curves and works on them, apart from frames and plans. */
export class CurveBench {
  readonly #openHdf5: OpenHdf5;
  readonly #writeHdf5: WriteHdf5;
  readonly #version: string;

  constructor(parts: { readonly openHdf5: OpenHdf5; readonly writeHdf5: WriteHdf5; readonly version: string }) {
    this.#openHdf5 = parts.openHdf5;
    this.#writeHdf5 = parts.writeHdf5;
    this.#version = parts.version;
  }

  /** Whether a file is one of curves and not of frames. */
  async holds({ name, blob }: NamedBlob, signal: AbortSignal): Promise<boolean> {
    const holds = await holdsCurves(blobSource(name, blob), { signal, openHdf5: this.#openHdf5 });
    await rest();
    return holds;
  }

  /** Every curve of a file. */
  async load({ name, blob }: NamedBlob, signal: AbortSignal): Promise<Result<readonly FileCurve[]>> {
    const loaded = await openCurves(blobSource(name, blob), { signal, openHdf5: this.#openHdf5 });
    await rest();
    if (!loaded.ok) return loaded;
    const digest = bytesToHex(sha256(new Uint8Array(await blob.arrayBuffer())));
    const curves: FileCurve[] = [];
    for (const curve of loaded.value) {
      const points = pointsFromFile({ ...curve, file: name });
      if (!points.ok) return points;
      const { leftOut } = points.value;
      curves.push({
        file: name,
        title: curve.title === "" ? curve.name : curve.title,
        unit: intensityUnitOf(curve.unit),
        points: points.value.points,
        sha256: digest,
        notes: leftOut > 0 ? [...curve.notes, `${leftOut} points without an uncertainty are left out`] : curve.notes,
      });
    }
    return success(curves);
  }

  async work({ tool, ask }: ToolAsk): Promise<Result<ToolAnswer>> {
    switch (tool) {
      case "guinier":
        return fitGuinier(ask.curve, ask.qMin, ask.qMax);
      case "porod":
        return fitPorod(ask.curve, ask.qMin, ask.qMax);
      case "merge":
        return mergeMany(ask.curves, ask);
      case "scale": {
        const fit = fitStandard(ask.curve, ask.reference, ask);
        return fit.ok ? success({ fit: fit.value, points: scaleCurve(ask.curve, fit.value.value) }) : fit;
      }
      case "subtract": {
        const made = subtractCurve(ask.curve, ask.other, ask.factor);
        return made.ok ? success({ points: made.value.curve, leftOut: made.value.leftOut }) : made;
      }
      case "rebin": {
        const edges = binEdgesOver(ask.bins, ask.curve.q);
        if (!edges.ok) return edges;
        const made = rebinCurve(ask.curve, edges.value);
        return made.ok ? success({ points: made.value, edges: edges.value }) : made;
      }
      case "model":
        return success(ask.q.map((q) => modelIntensity(q, ask.model)));
      case "write":
        return success(
          await derivedCurveFile(ask.curve, ask.format, { writeHdf5: this.#writeHdf5, version: this.#version }),
        );
    }
  }
}

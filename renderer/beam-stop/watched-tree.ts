import type { Plan } from "../../core/plan/plan.ts";
import { runsAt } from "../flip/flip-places.ts";
import type { DocumentTree } from "../state/document-store.ts";
import type { PlanFile } from "../state/plan-file.ts";
import { samplesOf } from "../state/plan-reading.ts";

/** The document as it is reduced: the plan's sample, or the frame of a watch in its place. */
export interface ShownTree {
  readonly tree: DocumentTree;
  readonly sampleIndex: number;
}

/**
 * A frame of a watch under the plan of the document. How the plan's own sample is read (dataset, row order) holds for it
 * too. The document itself stays as it is: a night of frames is no night of undo.
 */
export function watchedTree({ plan, files }: DocumentTree, watched: PlanFile): DocumentTree {
  const [own] = samplesOf(plan);
  const sample = typeof own === "object" ? { ...own, file: watched.path } : watched.path;
  return { plan: { ...plan, runs: { ...plan.runs, sample } }, files: { ...files, [watched.path]: watched } };
}

/** Which of the plan's samples is shown, and which frame of its stack where it is not the plan's own choice. */
interface ShownSample {
  readonly sampleIndex: number;
  readonly stackFrame: number | undefined;
}

/** Keeps the last answer, so that the same document with the same frame is the same tree. */
export class ShownTrees {
  #leafed:
    | (ShownSample & { readonly present: DocumentTree; readonly from: Plan["runs"]; readonly tree: DocumentTree })
    | undefined;
  #last: { readonly present: DocumentTree; readonly watched: PlanFile; readonly tree: DocumentTree } | undefined;

  of(present: DocumentTree, { sampleIndex, stackFrame }: ShownSample, watched: PlanFile | undefined): ShownTree {
    if (watched === undefined)
      return {
        tree: stackFrame === undefined ? present : this.#withFrame(present, sampleIndex, stackFrame),
        sampleIndex,
      };
    if (this.#last?.present !== present || this.#last.watched !== watched)
      this.#last = { present, watched, tree: watchedTree(present, watched) };
    return { tree: this.#last.tree, sampleIndex: 0 };
  }

  /** As long as the runs are the same object, those of the answer are too: a drag is told by that. */
  #withFrame(present: DocumentTree, sampleIndex: number, stackFrame: number): DocumentTree {
    const last = this.#leafed;
    const { runs: from } = present.plan;
    const isSameFrame = last?.sampleIndex === sampleIndex && last.stackFrame === stackFrame;
    if (isSameFrame && last.present === present) return last.tree;
    const runs = isSameFrame && last.from === from ? last.tree.plan.runs : runsAt(from, sampleIndex, stackFrame);
    const tree = { ...present, plan: { ...present.plan, runs } };
    this.#leafed = { present, sampleIndex, stackFrame, from, tree };
    return tree;
  }
}

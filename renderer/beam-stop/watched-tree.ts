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

/** Keeps the last answer, so that the same document with the same frame is the same tree. */
export class ShownTrees {
  #last: { readonly present: DocumentTree; readonly watched: PlanFile; readonly tree: DocumentTree } | undefined;

  of(present: DocumentTree, sampleIndex: number, watched: PlanFile | undefined): ShownTree {
    if (watched === undefined) return { tree: present, sampleIndex };
    if (this.#last?.present !== present || this.#last.watched !== watched)
      this.#last = { present, watched, tree: watchedTree(present, watched) };
    return { tree: this.#last.tree, sampleIndex: 0 };
  }
}

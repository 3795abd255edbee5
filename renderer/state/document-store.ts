import { createStore } from "zustand/vanilla";
import type { Plan } from "../../core/plan/plan.ts";
import { type BesideCurve, curveFiles } from "./beside-curve.ts";
import { endGesture, type History, record, redo, startHistory, undo } from "./history.ts";
import { applyAction, describeAction, type PlanAction } from "./plan-actions.ts";
import type { PlanFile, PlanFiles } from "./plan-file.ts";
import { samplesOf } from "./plan-reading.ts";
import { DEFAULT_VIEW, type ViewSettings } from "./view-settings.ts";

/** The state of the reduction: one immutable tree a document. */
export interface DocumentTree {
  readonly plan: Plan;
  readonly files: PlanFiles;
  /** Curves of files that stand beside those of the plan. */
  readonly beside?: readonly BesideCurve[];
}

export interface DocumentState {
  /** Undefined until something is opened. */
  readonly history: History<DocumentTree> | undefined;
  readonly view: ViewSettings;
  /** The sample experiment, as long as nothing else was opened over it. */
  readonly isSampleExperiment: boolean;
}

export interface DocumentActions {
  /** Changes the plan. Changes of one `gesture` in a row are one step of undo; `endGesture` closes it. */
  act(action: PlanAction, gesture?: string): void;
  endGesture(): void;
  undo(): void;
  redo(): void;
  /** A new document in the place of the present one. */
  open(tree: DocumentTree, isSampleExperiment?: boolean): void;
  /** More files for the present document, without a role or with one. */
  addFiles(files: readonly PlanFile[], actions: readonly PlanAction[], label: string): void;
  /** Other curves beside those of the plan, with the files that they come from. */
  setBeside(beside: readonly BesideCurve[], label: string, files?: readonly PlanFile[]): void;
  /** Other bytes for a file that the document knows: a lost one that was found again. Not a step of undo. */
  replaceFile(file: PlanFile): void;
  show(change: Partial<ViewSettings>): void;
  restore(history: History<DocumentTree> | undefined, view: ViewSettings, isSampleExperiment: boolean): void;
}

export type DocumentStore = DocumentState & DocumentActions;

export function createDocumentStore() {
  return createStore<DocumentStore>()((set) => {
    const change = (next: (history: History<DocumentTree>) => History<DocumentTree>) =>
      set((state) => (state.history === undefined ? state : settle(state, next(state.history))));
    return {
      history: undefined,
      view: DEFAULT_VIEW,
      isSampleExperiment: false,
      act: (action, gesture) =>
        change((history) => {
          const { plan } = history.present;
          const next = applyAction(plan, action);
          return next === plan
            ? history
            : record(history, { ...history.present, plan: next }, describeAction(action), gesture);
        }),
      endGesture: () => change(endGesture),
      undo: () => change(undo),
      redo: () => change(redo),
      open: (tree, isSampleExperiment = false) =>
        set((state) => ({
          history: startHistory(withCurvesOf(state.history?.present, tree)),
          isSampleExperiment,
          view: {
            ...state.view,
            sampleIndex: 0,
            stackFrame: undefined,
            second: undefined,
            range: undefined,
            hidden: [],
            field_deg: undefined,
            seriesFrom: DEFAULT_VIEW.seriesFrom,
            seriesValues: {},
            seriesLabel: "",
            selectedShape: undefined,
            selectedRun: undefined,
          },
        })),
      addFiles: (files, actions, label) =>
        change((history) => {
          const all = { ...history.present.files, ...Object.fromEntries(files.map((file) => [file.path, file])) };
          const plan = actions.reduce(applyAction, history.present.plan);
          return record(history, { ...history.present, plan, files: all }, label);
        }),
      setBeside: (beside, label, files = []) =>
        change((history) => {
          const all = { ...history.present.files, ...Object.fromEntries(files.map((file) => [file.path, file])) };
          return record(history, { ...history.present, files: all, beside }, label);
        }),
      replaceFile: (file) =>
        change((history) => {
          const renew = (tree: DocumentTree) =>
            file.path in tree.files ? { ...tree, files: { ...tree.files, [file.path]: file } } : tree;
          const steps = (list: History<DocumentTree>["past"]) =>
            list.map((step) => ({ ...step, tree: renew(step.tree) }));
          return {
            ...history,
            past: steps(history.past),
            present: renew(history.present),
            future: steps(history.future),
          };
        }),
      show: (view) =>
        set((state) => {
          const { sampleIndex } = state.view;
          // Another run begins as the plan reads it.
          const isOther = view.sampleIndex !== undefined && view.sampleIndex !== sampleIndex;
          return { view: { ...state.view, ...(isOther ? { stackFrame: undefined } : {}), ...view } };
        }),
      restore: (history, view, isSampleExperiment) => set({ history, view, isSampleExperiment }),
    };
  });
}

/** Curves that stand beside stay when another frame is opened: to compare it with them is what they are there for. */
function withCurvesOf(before: DocumentTree | undefined, tree: DocumentTree): DocumentTree {
  if (before?.beside === undefined || tree.beside !== undefined) return tree;
  return { ...tree, files: { ...curveFiles(before.files), ...tree.files }, beside: before.beside };
}

/** Keeps the view within what the tree still holds: a sample or a shape may have gone with the change. */
function settle(state: DocumentState, history: History<DocumentTree>): Partial<DocumentState> {
  if (history === state.history) return state;
  const { plan } = history.present;
  const { sampleIndex, stackFrame, selectedShape } = state.view;
  const lastSample = samplesOf(plan).length - 1;
  const shapes = plan.mask?.shapes?.length ?? 0;
  const view = {
    ...state.view,
    sampleIndex: Math.max(0, Math.min(sampleIndex, lastSample)),
    // Where other runs are named, or read in another way, the frame may not be there.
    stackFrame: plan.runs === state.history?.present.plan.runs ? stackFrame : undefined,
    selectedShape: selectedShape !== undefined && selectedShape < shapes ? selectedShape : undefined,
  };
  return { history, view };
}

import { averagesOf } from "../../core/plan/defaults.ts";
import type { Copying } from "../copy/copying.ts";
import { showing } from "../guide/guide-steps.ts";
import { likelySecond } from "../second-frame/second-choice.ts";
import { QUESTIONS, type Question, THEMES, type Theme } from "../state/view-settings.ts";
import type { DrawTool } from "../view-types.ts";
import type { Application } from "./application.ts";
import { EXPORT_CHOICES } from "./exporting.ts";
import { newAverage } from "./new-average.ts";

export interface Command {
  readonly id: string;
  readonly group: string;
  readonly title: string;
  /** The keys it comes with, as tinykeys writes them: "$mod+KeyZ". The person may choose others. */
  readonly keys?: string;
  readonly isEnabled?: (application: Application) => boolean;
  readonly run: (application: Application) => void;
}

export const QUESTION_TITLES: Readonly<Record<Question, string>> = {
  "beam-stop": "Beam stop",
  anisotropy: "Anisotropy",
  curves: "Curves",
};

export const THEME_TITLES: Readonly<Record<Theme, string>> = {
  system: "Like the system",
  dark: "Dark",
  light: "Light",
};

export const TOOL_TITLES: Readonly<Record<DrawTool, string>> = {
  select: "Move and select",
  circle: "Mask a circle",
  rectangle: "Mask a rectangle",
  polygon: "Mask a polygon",
  brush: "Paint the mask",
};

const TOOL_KEYS: Readonly<Record<DrawTool, string>> = {
  select: "KeyV",
  circle: "KeyC",
  rectangle: "KeyR",
  polygon: "KeyP",
  brush: "KeyB",
};

const hasDocument = ({ document }: Application) => document.getState().history !== undefined;
const hasReduction = ({ results }: Application) => results.getState().reduction !== undefined;

const COPIES = [
  { id: "copy-table", title: "Copy the curves as a table", run: (copying: Copying) => void copying.table() },
  {
    id: "copy-curve",
    title: "Copy the curve's figure as a picture",
    run: (copying: Copying) => void copying.figure("curve", "png"),
  },
  {
    id: "copy-curve-svg",
    title: "Copy the curve's figure as SVG text",
    run: (copying: Copying) => void copying.figure("curve", "svg"),
  },
  {
    id: "copy-frame",
    title: "Copy the frame's figure as a picture",
    run: (copying: Copying) => void copying.figure("frame", "png"),
  },
];

/** Everything that the keyboard and the command list can do. The order is that of the list. */
export const COMMANDS: readonly Command[] = [
  {
    id: "open",
    group: "File",
    title: "Open a frame or a plan",
    keys: "$mod+KeyO",
    run: ({ opening }) => void opening.pick(),
  },
  {
    id: "watch-folder",
    group: "File",
    title: "Watch a folder for frames",
    keys: "$mod+Shift+KeyO",
    run: ({ beamStop, document }) => {
      document.getState().show({ question: "beam-stop" });
      void beamStop.watch.start(undefined);
    },
  },
  {
    id: "resume-watch",
    group: "File",
    title: "Go on with the last watch",
    isEnabled: ({ beamStop }) => beamStop.store.getState().resumable !== undefined,
    run: ({ beamStop, document }) => {
      document.getState().show({ question: "beam-stop" });
      void beamStop.watch.resume();
    },
  },
  {
    id: "stop-watching",
    group: "File",
    title: "Stop watching the folder",
    isEnabled: ({ beamStop }) => beamStop.store.getState().watch !== undefined,
    run: ({ beamStop }) => void beamStop.watch.stop(),
  },
  {
    id: "save-plan",
    group: "File",
    title: "Save the plan",
    keys: "$mod+KeyS",
    isEnabled: hasDocument,
    run: ({ exporting }) => void exporting.savePlan(),
  },
  ...EXPORT_CHOICES.map(
    (choice): Command => ({
      id: `export-${choice.id}`,
      group: "Export",
      title: choice.title,
      ...(choice.id === "csv" ? { keys: "$mod+KeyE" } : {}),
      isEnabled: hasReduction,
      run: ({ exporting }) => void exporting.run(choice),
    }),
  ),
  ...COPIES.map(
    ({ id, title, run }): Command => ({
      id,
      group: "Copy",
      title,
      isEnabled: hasReduction,
      run: ({ copying }) => run(copying),
    }),
  ),
  {
    id: "undo",
    group: "Plan",
    title: "Undo",
    keys: "$mod+KeyZ",
    isEnabled: ({ document }) => (document.getState().history?.past.length ?? 0) > 0,
    run: ({ document }) => document.getState().undo(),
  },
  {
    id: "redo",
    group: "Plan",
    title: "Redo",
    keys: "$mod+Shift+KeyZ",
    isEnabled: ({ document }) => (document.getState().history?.future.length ?? 0) > 0,
    run: ({ document }) => document.getState().redo(),
  },
  ...(["radial", "sector", "annulus", "box"] as const).map(
    (kind): Command => ({
      id: `add-${kind}`,
      group: "Plan",
      title: kind === "annulus" ? "Add an annulus" : `Add a ${kind} average`,
      isEnabled: hasReduction,
      run: (application) => addAverage(application, kind),
    }),
  ),
  ...QUESTIONS.map(
    (question, i): Command => ({
      id: `question-${question}`,
      group: "View",
      title: `Question: ${QUESTION_TITLES[question]}`,
      keys: `Digit${i + 1}`,
      run: ({ document }) => document.getState().show({ question }),
    }),
  ),
  ...(Object.keys(TOOL_TITLES) as DrawTool[]).map(
    (tool): Command => ({
      id: `tool-${tool}`,
      group: "Frame",
      title: TOOL_TITLES[tool],
      keys: TOOL_KEYS[tool],
      isEnabled: hasReduction,
      run: ({ document }) => document.getState().show({ tool }),
    }),
  ),
  { id: "fit", group: "Frame", title: "Fit the frame", keys: "KeyF", run: ({ frame }) => frame.current?.fit() },
  { id: "zoom-in", group: "Frame", title: "Zoom in", keys: "Equal", run: ({ frame }) => frame.current?.zoomBy(1.25) },
  { id: "zoom-out", group: "Frame", title: "Zoom out", keys: "Minus", run: ({ frame }) => frame.current?.zoomBy(0.8) },
  {
    id: "actual-size",
    group: "Frame",
    title: "One screen pixel a frame pixel",
    keys: "Digit0",
    run: ({ frame }) => frame.current?.actualSize(),
  },
  {
    id: "frame-before",
    group: "Frame",
    title: "Frame or run before this one",
    keys: "Comma",
    isEnabled: ({ flip }) => flip.rows().length > 0,
    run: ({ flip }) => flip.step(-1),
  },
  {
    id: "frame-after",
    group: "Frame",
    title: "Frame or run after this one",
    keys: "Period",
    isEnabled: ({ flip }) => flip.rows().length > 0,
    run: ({ flip }) => flip.step(1),
  },
  {
    id: "second-frame",
    group: "Frame",
    title: "Show or close a second frame beside this one",
    keys: "KeyD",
    isEnabled: hasReduction,
    run: toggleSecond,
  },
  {
    id: "rings",
    group: "Frame",
    title: "Show or hide Q rings",
    keys: "KeyQ",
    run: ({ document }) => document.getState().show({ rings: !document.getState().view.rings }),
  },
  {
    id: "side-panel",
    group: "View",
    title: "Show or hide the side panel",
    keys: "$mod+KeyB",
    run: ({ document }) => document.getState().show({ sideOpen: !document.getState().view.sideOpen }),
  },
  {
    id: "direct-beams",
    group: "View",
    title: "Show the direct beams and transmissions",
    isEnabled: hasDocument,
    run: ({ document }) => document.getState().show({ sideOpen: true, sideTab: "beams" }),
  },
  {
    id: "ledger",
    group: "View",
    title: "Show or hide the ledger",
    keys: "$mod+KeyL",
    run: ({ document }) => document.getState().show({ ledgerOpen: !document.getState().view.ledgerOpen }),
  },
  {
    id: "reach",
    group: "View",
    title: "Camera reach: which settings see which sizes",
    keys: "KeyS",
    run: ({ document }) => document.getState().show({ sheet: "reach" }),
  },
  {
    id: "commands",
    group: "View",
    title: "All commands",
    keys: "$mod+KeyK",
    run: ({ document }) => document.getState().show({ sheet: "commands" }),
  },
  {
    id: "keys",
    group: "View",
    title: "Keys: see and change the shortcuts",
    run: ({ document }) => document.getState().show({ sheet: "keys" }),
  },
  {
    id: "guide",
    group: "View",
    title: "First steps: the three questions, one by one",
    isEnabled: hasReduction,
    run: ({ document }) => document.getState().show(showing("frame")),
  },
  {
    id: "equal-halves",
    group: "View",
    title: "Frame and curve of equal size",
    run: ({ document }) => document.getState().show({ split: 0.5 }),
  },
  ...THEMES.map(
    (theme): Command => ({
      id: `theme-${theme}`,
      group: "View",
      title: `Colours: ${THEME_TITLES[theme].toLowerCase()}`,
      run: ({ document }) => document.getState().show({ theme }),
    }),
  ),
];

export function isEnabled(command: Command, application: Application): boolean {
  return command.isEnabled?.(application) ?? true;
}

export function runCommand(id: string, application: Application): void {
  const command = COMMANDS.find((entry) => entry.id === id);
  if (command === undefined) throw new RangeError(`there is no command ${id}`);
  if (isEnabled(command, application)) command.run(application);
}

function toggleSecond({ document, results }: Application): void {
  const { history, view, show } = document.getState();
  if (history === undefined) return;
  show({
    second: view.second === undefined ? likelySecond(history.present, view, results.getState().runs) : undefined,
  });
}

function addAverage({ document, results }: Application, kind: "radial" | "sector" | "annulus" | "box"): void {
  const { history, act } = document.getState();
  const { reduction } = results.getState();
  if (history === undefined || reduction === undefined) return;
  act({ type: "add-average", average: newAverage(kind, averagesOf(history.present.plan), reduction) });
}

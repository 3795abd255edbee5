import { DEFAULT_SECTOR_HALF_WIDTH_DEG, MAX_SECTOR_HALF_WIDTH_DEG } from "../../core/plan/assess-anisotropy.ts";
import type { StopLimits } from "../../core/plan/assess-stop.ts";
import { FACETS, type Facet, FRAME_LAYERS, type FrameLayer } from "../anisotropy/facets.ts";
import { type ChosenKeys, readChosenKeys } from "../keys/key-table.ts";
import { type ReachSettings, readReachSettings } from "../reach/reach-settings.ts";
import type { SecondChoice } from "../second-frame/second-choice.ts";
import {
  type CountRange,
  type CurveAxes,
  type DrawTool,
  FRAME_SCALES,
  type FrameScale,
  type MaskStyle,
  PALETTES,
  type PaletteName,
} from "../view-types.ts";
import { isRecord } from "./is-record.ts";

export const QUESTIONS = ["beam-stop", "anisotropy", "curves"] as const;
export type Question = (typeof QUESTIONS)[number];

export const THEMES = ["system", "dark", "light"] as const;
export type Theme = (typeof THEMES)[number];

export const SIDE_TABS = ["runs", "plan", "beams"] as const;
export type SideTab = (typeof SIDE_TABS)[number];

export const GUIDE_STEPS = ["frame", "beam-stop", "anisotropy", "curves", "own"] as const;
export type GuideStep = (typeof GUIDE_STEPS)[number];
/** Where the first steps are; they come by themselves once. */
export type Guide = "unseen" | GuideStep | "closed";

/** How the window shows the document. Kept with the session; undo leaves it alone. */
export interface ViewSettings {
  readonly question: Question;
  readonly theme: Theme;
  readonly sideOpen: boolean;
  readonly sideTab: SideTab;
  readonly ledgerOpen: boolean;
  /** The frame's share of the width that frame and curve have together. */
  readonly split: number;
  /** Which sample of the plan is shown. */
  readonly sampleIndex: number;
  /** Which frame of its stack is shown; undefined: as the plan reads it. */
  readonly stackFrame: number | undefined;
  readonly scale: FrameScale;
  readonly palette: PaletteName;
  /** Undefined: from the percentiles of the frame. */
  readonly range: CountRange | undefined;
  readonly maskStyle: MaskStyle;
  readonly seenFromSample: boolean;
  readonly rings: boolean;
  readonly tool: DrawTool;
  readonly brushRadius_px: number;
  /** Axes of the curves of Q. Profiles have their own. */
  readonly axes: CurveAxes;
  readonly profileAxes: CurveAxes;
  readonly errorBars: boolean;
  /** What the anisotropy question shows in the curve's place, and on the frame. */
  readonly facet: Facet;
  readonly layer: FrameLayer;
  /** Direction of the magnetic field; undefined: fitted. */
  readonly field_deg: number | undefined;
  /** Of the sectors along and across the axis. */
  readonly sectorHalfWidth_deg: number;
  /** What a series is drawn against: a named source, or a number of the runs by the plan's key. */
  readonly seriesFrom: string;
  /** Values of the series that were typed, by file; they stand before those of the source. */
  readonly seriesValues: Readonly<Record<string, number>>;
  /** "Shear rate (1/s)"; "": as the source is called. */
  readonly seriesLabel: string;
  /** Rates above these make the stop's verdict no better than marginal. */
  readonly stopLimits: StopLimits;
  /** A change of verdict during a watch is said by sound, and by a notice of the system. */
  readonly stopSound: boolean;
  readonly stopNotice: boolean;
  /** Averages that the person doesn't want to see now. */
  readonly hidden: readonly string[];
  readonly selectedShape: number | undefined;
  /** The run whose numbers the side panel shows; undefined: the sample on show. */
  readonly selectedRun: string | undefined;
  /** The frame that stands beside the one on show. */
  readonly second: SecondChoice | undefined;
  /** The second frame has a range of colours of its own. */
  readonly secondOwnRange: boolean;
  /** The sheet that lies over the window; not kept with the session. */
  readonly sheet: Sheet | undefined;
  /** Keys that the person chose for commands. */
  readonly keys: ChosenKeys;
  readonly guide: Guide;
  /** Camera settings that are compared; undefined: that of the run on show. */
  readonly reach: ReachSettings | undefined;
}

export type Sheet = "commands" | "keys" | "reach";

export const DEFAULT_VIEW: ViewSettings = {
  question: "curves",
  theme: "system",
  sideOpen: true,
  sideTab: "runs",
  ledgerOpen: true,
  split: 0.5,
  sampleIndex: 0,
  stackFrame: undefined,
  scale: "log",
  palette: "cividis",
  range: undefined,
  maskStyle: "hatched",
  seenFromSample: false,
  rings: true,
  tool: "select",
  brushRadius_px: 3,
  axes: { transform: "i-q", x: "log", y: "log" },
  profileAxes: { transform: "i-phi", x: "linear", y: "linear" },
  errorBars: true,
  facet: "profile",
  layer: "counts",
  field_deg: undefined,
  sectorHalfWidth_deg: DEFAULT_SECTOR_HALF_WIDTH_DEG,
  seriesFrom: "order",
  seriesValues: {},
  seriesLabel: "",
  stopLimits: {},
  stopSound: false,
  stopNotice: false,
  hidden: [],
  selectedShape: undefined,
  selectedRun: undefined,
  second: undefined,
  secondOwnRange: false,
  sheet: undefined,
  keys: {},
  guide: "unseen",
  reach: undefined,
};

/** The share of the frame stays within these, so that neither half can vanish. */
export const SPLIT_LIMITS = [0.25, 0.75] as const;

/**
 * View settings of an earlier session. What is missing or not understood takes the default: a view is not worth refusing
 * a session for.
 */
export function readViewSettings(stored: unknown): ViewSettings {
  const from: Readonly<Record<string, unknown>> = isRecord(stored) ? stored : {};
  const view = DEFAULT_VIEW;
  const split = typeof from["split"] === "number" ? from["split"] : view.split;
  return {
    ...view,
    question: oneOf(QUESTIONS, from["question"], view.question),
    theme: oneOf(THEMES, from["theme"], view.theme),
    sideOpen: flag(from["sideOpen"], view.sideOpen),
    sideTab: oneOf(SIDE_TABS, from["sideTab"], view.sideTab),
    ledgerOpen: flag(from["ledgerOpen"], view.ledgerOpen),
    split: Math.min(SPLIT_LIMITS[1], Math.max(SPLIT_LIMITS[0], split)),
    scale: oneOf(FRAME_SCALES, from["scale"], view.scale),
    palette: oneOf(PALETTES, from["palette"], view.palette),
    maskStyle: oneOf(["hatched", "tinted", "off"] as const, from["maskStyle"], view.maskStyle),
    seenFromSample: flag(from["seenFromSample"], view.seenFromSample),
    rings: flag(from["rings"], view.rings),
    errorBars: flag(from["errorBars"], view.errorBars),
    facet: oneOf(FACETS, from["facet"], view.facet),
    layer: oneOf(FRAME_LAYERS, from["layer"], view.layer),
    field_deg: within(from["field_deg"], -360, 360),
    sectorHalfWidth_deg: within(from["sectorHalfWidth_deg"], 1, MAX_SECTOR_HALF_WIDTH_DEG) ?? view.sectorHalfWidth_deg,
    seriesFrom: typeof from["seriesFrom"] === "string" ? from["seriesFrom"] : view.seriesFrom,
    seriesValues: readSeriesValues(from["seriesValues"]),
    seriesLabel: typeof from["seriesLabel"] === "string" ? from["seriesLabel"] : view.seriesLabel,
    stopLimits: readLimits(from["stopLimits"]),
    stopSound: flag(from["stopSound"], view.stopSound),
    stopNotice: flag(from["stopNotice"], view.stopNotice),
    axes: readAxes(from["axes"], view.axes),
    keys: readChosenKeys(from["keys"]),
    guide: oneOf(["unseen", ...GUIDE_STEPS, "closed"] as const, from["guide"], view.guide),
    reach: readReachSettings(from["reach"]),
  };
}

function readLimits(stored: unknown): StopLimits {
  const from: Readonly<Record<string, unknown>> = isRecord(stored) ? stored : {};
  const rate = (value: unknown): number | undefined => (typeof value === "number" && value > 0 ? value : undefined);
  const hottest = rate(from["hottestPixelRate"]);
  const total = rate(from["totalRate"]);
  return {
    ...(hottest !== undefined && { hottestPixelRate: hottest }),
    ...(total !== undefined && { totalRate: total }),
  };
}

function within(value: unknown, low: number, high: number): number | undefined {
  return typeof value === "number" && value >= low && value <= high ? value : undefined;
}

function readSeriesValues(stored: unknown): Readonly<Record<string, number>> {
  if (!isRecord(stored)) return {};
  return Object.fromEntries(
    Object.entries(stored).flatMap(([file, value]) => (typeof value === "number" ? [[file, value]] : [])),
  );
}

function readAxes(stored: unknown, fallback: CurveAxes): CurveAxes {
  if (!isRecord(stored)) return fallback;
  return {
    transform: oneOf(["i-q", "lni-q2", "iq4-q", "q2i-q"] as const, stored["transform"], fallback.transform),
    x: oneOf(["linear", "log"] as const, stored["x"], fallback.x),
    y: oneOf(["linear", "log"] as const, stored["y"], fallback.y),
  };
}

function oneOf<T extends string>(allowed: readonly T[], value: unknown, fallback: T): T {
  return allowed.find((entry) => entry === value) ?? fallback;
}

function flag(value: unknown, fallback: boolean): boolean {
  return typeof value === "boolean" ? value : fallback;
}

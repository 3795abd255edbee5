import type { Curve, Profile } from "../core/model/curve.ts";
import type { Orientation, PixelArray } from "../core/model/frame.ts";
import type { Geometry } from "../core/model/geometry.ts";
import type { MaskShape } from "../core/plan/plan.ts";
import type { StopOutline } from "../core/plan/reduction.ts";
import type { AxisMark } from "./anisotropy/axis-mark.ts";
import type { StopFit } from "./beam-stop/stop-fit.ts";
import type { ViewLink } from "./frame/view-link.ts";

/** Array coordinates: x the column, y the row, pixel centres at integers. */
export interface ArrayPoint {
  readonly x: number;
  readonly y: number;
}

/** What the frame view draws. Arrays are in stored order and are not changed; a new array is a new picture. */
export interface FrameImage {
  /** Changes when another frame is shown (the view is then fitted), not when the mask or the counts alone change. */
  readonly id: string;
  readonly width: number;
  readonly height: number;
  readonly counts: PixelArray;
  /** Mask bits, 0 = use. */
  readonly mask: Uint16Array;
  readonly orientation: Orientation;
  /** What `counts` holds, for the readout and the colour bar: "counts", "sigma". */
  readonly quantity: string;
}

export const FRAME_SCALES = ["linear", "log", "square-root"] as const;
export type FrameScale = (typeof FRAME_SCALES)[number];

export const PALETTES = ["cividis", "viridis", "magma", "grey", "diverging"] as const;
/** "diverging" is for signed maps such as a residual frame; the others are for counts. */
export type PaletteName = (typeof PALETTES)[number];

export interface CountRange {
  readonly low: number;
  readonly high: number;
}

export type MaskStyle = "hatched" | "tinted" | "off";

export interface FrameDisplay {
  readonly scale: FrameScale;
  readonly palette: PaletteName;
  readonly range: CountRange;
  readonly maskStyle: MaskStyle;
  /** Mirrors the display, never the data. */
  readonly seenFromSample: boolean;
}

/** The pixels to light: those p with bins[p] === bin. */
export interface FrameLamp {
  /** One entry a pixel in stored order, -1 for none. A new array is a new map. */
  readonly bins: Int32Array;
  readonly bin: number;
}

/** Angles are phi in degrees, as the plan has them. */
export interface SectorShape {
  readonly id: string;
  readonly centre_deg: number;
  readonly halfWidth_deg: number;
  readonly mirrored: boolean;
}

/** Q in 1/angstrom. */
export interface AnnulusShape {
  readonly id: string;
  readonly qMin: number;
  readonly qMax: number;
}

/** "drag" comes at most once an animation frame; "end" once, when the pointer or the key is released. */
export type DragPhase = "drag" | "end";

/** "select" also moves, resizes and deletes shapes. */
export const DRAW_TOOLS = ["select", "circle", "rectangle", "polygon", "brush"] as const;
export type DrawTool = (typeof DRAW_TOOLS)[number];

export interface FrameOverlays {
  /** Where the beam is; drawn as a cross that can be dragged. Absent: none. */
  readonly beamCentre?: ArrayPoint | undefined;
  /** Standard uncertainty of the centre, px; drawn as an ellipse. */
  readonly beamCentreSigma?: ArrayPoint | undefined;
  /** Draw rings of round Q values. Needs a geometry. */
  readonly rings: boolean;
  readonly stop?: StopOutline | undefined;
  /** Fitted outline with penumbra, the beam's foot and the margin; takes the place of `stop`. */
  readonly stopFit?: StopFit | undefined;
  /** Sectors and annuli need a geometry. */
  readonly sectors: readonly SectorShape[];
  readonly annuli: readonly AnnulusShape[];
  /** Drawn mask shapes, in the order of the plan. */
  readonly shapes: readonly MaskShape[];
  readonly selectedShape?: number | undefined;
  readonly lamp?: FrameLamp | undefined;
  /** Direction of strongest scattering. Needs a geometry. */
  readonly axis?: AxisMark | undefined;
  /** The pixel that is pointed at in another frame. */
  readonly pointer?: ArrayPoint | undefined;
}

export interface FrameViewProps {
  /** What a reader is told; absent: "Detector frame". */
  readonly name?: string | undefined;
  /** Shared with another view that shows the same part of its frame. */
  readonly link?: ViewLink | undefined;
  readonly frame: FrameImage | undefined;
  readonly geometry?: Geometry | undefined;
  readonly display: FrameDisplay;
  readonly overlays: FrameOverlays;
  readonly tool: DrawTool;
  /** Brush radius, px. */
  readonly brushRadius?: number | undefined;
  readonly onCentreDrag?: ((x: number, y: number, phase: DragPhase) => void) | undefined;
  readonly onSectorChange?: ((sector: SectorShape, phase: DragPhase) => void) | undefined;
  readonly onAnnulusChange?: ((annulus: AnnulusShape, phase: DragPhase) => void) | undefined;
  readonly onShapeAdd?: ((shape: MaskShape) => void) | undefined;
  readonly onShapeChange?: ((index: number, shape: MaskShape, phase: DragPhase) => void) | undefined;
  readonly onShapeDelete?: ((index: number) => void) | undefined;
  readonly onShapeSelect?: ((index: number | undefined) => void) | undefined;
  /** Arrows to the left and right, as long as the whole frame is in sight: the frame before or after. */
  readonly onFlip?: ((by: 1 | -1) => void) | undefined;
  /** The pixel under the pointer, at most once an animation frame; undefined when it leaves the frame. */
  readonly onHover?: ((pixel: ArrayPoint | undefined) => void) | undefined;
}

/** What a toolbar may ask of a mounted frame view (through its ref). */
export interface FrameViewHandle {
  fit(): void;
  /** Factor > 1 zooms in, about the middle of the view. */
  zoomBy(factor: number): void;
  /** One screen pixel (CSS) a frame pixel. */
  actualSize(): void;
}

/** Histogram with two handles, automatic range, and the colour bar with values. */
export interface RangeControlProps {
  readonly frame: FrameImage | undefined;
  readonly display: FrameDisplay;
  readonly onRangeChange: (range: CountRange, phase: DragPhase) => void;
}

/** The strip below the frame. `pixel` outside the frame or undefined leaves the values blank. */
export interface FrameReadoutProps {
  readonly frame: FrameImage | undefined;
  readonly geometry?: Geometry | undefined;
  readonly pixel: ArrayPoint | undefined;
  /** The frame that stands beside: its counts at the same pixel. */
  readonly second?: FrameImage | undefined;
}

export const CURVE_TRANSFORMS = ["i-q", "lni-q2", "iq4-q", "q2i-q", "i-phi"] as const;
/** I against Q; ln I against Q^2; I Q^4 against Q; Q^2 I against Q; I against phi (profiles). */
export type CurveTransform = (typeof CURVE_TRANSFORMS)[number];

export type AxisScale = "linear" | "log";

export interface CurveAxes {
  readonly transform: CurveTransform;
  readonly x: AxisScale;
  readonly y: AxisScale;
}

export interface PlottedCurve {
  /** Unique among the curves shown; the lamp and the tests name it. */
  readonly key: string;
  readonly label: string;
  /** Curves are drawn where the transform takes Q, profiles where it takes phi. */
  readonly data: Curve | Profile;
  /** Place in the Okabe-Ito order; absent: the place in the list. */
  readonly colourIndex?: number | undefined;
  /** A line without points or error bars: a model, a fit. */
  readonly line?: boolean | undefined;
}

/** A point of a curve: `index` into its columns. */
export interface CurvePoint {
  readonly key: string;
  readonly index: number;
}

/** Q in 1/angstrom, or phi in degrees where the transform takes phi. */
export interface CurveInterval {
  readonly low: number;
  readonly high: number;
}

export interface CurveViewProps {
  readonly curves: readonly PlottedCurve[];
  readonly axes: CurveAxes;
  readonly errorBars: boolean;
  /** Brushed range; absent: none. */
  readonly interval?: CurveInterval | undefined;
  readonly onIntervalChange?: ((interval: CurveInterval | undefined, phase: DragPhase) => void) | undefined;
  /** The lit point; a line marks its place on every curve. */
  readonly lamp?: CurvePoint | undefined;
  /** At most once an animation frame. */
  readonly onLamp?: ((point: CurvePoint | undefined) => void) | undefined;
  /** Called when the person clicks a point or presses Enter on it: pin its explanation. */
  readonly onExplain?: ((point: CurvePoint) => void) | undefined;
}

/**
 * The way to follow a drag without React: draws other curves in the next animation frame. The next change of the
 * `curves` property takes over again.
 */
export interface CurveViewHandle {
  show(curves: readonly PlottedCurve[]): void;
}

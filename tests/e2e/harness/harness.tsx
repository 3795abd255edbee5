/// <reference types="vite/client" />
import "../../../renderer/style/tokens.css";
import "./harness.css";
import { type ReactElement, useMemo, useRef, useState } from "react";
import { createRoot } from "react-dom/client";
import type { Geometry } from "../../../core/model/geometry.ts";
import type { MaskShape } from "../../../core/plan/plan.ts";
import { CurveView, type CurveViewProbe } from "../../../renderer/curve/curve-view.tsx";
import { usualAxes } from "../../../renderer/curve/transform.ts";
import { FrameReadout } from "../../../renderer/frame/frame-readout.tsx";
import { FrameView, type FrameViewProbe } from "../../../renderer/frame/frame-view.tsx";
import { RangeControl } from "../../../renderer/frame/range-control.tsx";
import type {
  AnnulusShape,
  ArrayPoint,
  CurveAxes,
  CurveInterval,
  CurvePoint,
  DrawTool,
  FrameDisplay,
  PlottedCurve,
  SectorShape,
} from "../../../renderer/view-types.ts";
import { annulusProfile, makeScene, radialCurve, type SceneChoice } from "./scene.ts";

/** What a test sees of the page and may do to it. */
export interface HarnessHandle {
  frame(): FrameViewProbe;
  curve(): CurveViewProbe;
  log(): readonly unknown[];
  set(change: Partial<HarnessState>): void;
  state(): HarnessState;
  curves(): readonly PlottedCurve[];
  /** True where the lamp should light a pixel. */
  isLit(x: number, y: number): boolean;
  /** Q of a point of the radial curve. */
  abscissa(index: number): number;
}

export interface HarnessState {
  readonly scene: SceneChoice;
  readonly display: FrameDisplay;
  readonly tool: DrawTool;
  readonly axes: CurveAxes;
  readonly rings: boolean;
  readonly sectors: readonly SectorShape[];
  readonly annuli: readonly AnnulusShape[];
  readonly shapes: readonly MaskShape[];
  readonly selectedShape: number | undefined;
  readonly lamp: CurvePoint | undefined;
  readonly interval: CurveInterval | undefined;
  readonly profile: boolean;
  readonly centre: ArrayPoint | undefined;
  readonly stop: boolean;
  /** Masks this pixel as well. */
  readonly masked: readonly [number, number] | undefined;
}

const INITIAL: HarnessState = {
  scene: { width: 192, height: 192, rowOrder: "bottom-up", transpose: false },
  display: {
    scale: "log",
    palette: "cividis",
    range: { low: 1, high: 5000 },
    maskStyle: "hatched",
    seenFromSample: false,
  },
  tool: "select",
  axes: usualAxes("i-q"),
  rings: true,
  sectors: [],
  annuli: [],
  shapes: [],
  selectedShape: undefined,
  lamp: undefined,
  interval: undefined,
  profile: false,
  centre: undefined,
  stop: false,
  masked: undefined,
};

function Harness({
  log,
  onReady,
}: {
  readonly log: unknown[];
  readonly onReady: (handle: HarnessHandle) => void;
}): ReactElement {
  const [state, setState] = useState(INITIAL);
  const [pixel, setPixel] = useState<ArrayPoint>();
  const set = (change: Partial<HarnessState>): void => setState((before) => ({ ...before, ...change }));
  const frameRef = useRef<FrameViewProbe>(null);
  const curveRef = useRef<CurveViewProbe>(null);
  const scene = useMemo(() => makeScene(state.scene), [state.scene]);
  const frame = useMemo(() => {
    if (!state.masked) return scene.frame;
    const mask = scene.frame.mask.slice();
    mask[state.masked[1] * scene.frame.width + state.masked[0]] = 64;
    return { ...scene.frame, mask };
  }, [scene, state.masked]);
  const centre = state.centre ?? scene.geometry.beamCentre;
  const geometry: Geometry = useMemo(() => ({ ...scene.geometry, beamCentre: centre }), [scene, centre]);
  const radial = useMemo(() => radialCurve(scene, "radial", () => true), [scene]);
  const sector = useMemo(() => radialCurve(scene, "sector", (phi) => Math.cos(2 * phi) > 0.7), [scene]);
  const profile = useMemo(() => annulusProfile(scene, 0.02, 0.03), [scene]);
  const curves = useMemo(
    () => [
      { key: "radial", label: "Spheres, all directions", data: radial.curve },
      {
        key: "sector",
        label: "Along the flow",
        data: { ...sector.curve, intensity: sector.curve.intensity.map((i) => i * 0.4) },
      },
      ...(state.profile ? [{ key: "ring", label: "Ring", data: profile }] : []),
    ],
    [radial, sector, profile, state.profile],
  );
  const { lamp } = state;
  const litBin = lamp?.key === "radial" ? radial.curve.bin[lamp.index] : undefined;
  const frameLamp = useMemo(
    () => (litBin === undefined ? undefined : { bins: radial.bins, bin: litBin }),
    [litBin, radial],
  );
  onReady({
    frame: () => frameRef.current as FrameViewProbe,
    curve: () => curveRef.current as CurveViewProbe,
    log: () => log,
    set,
    state: () => state,
    curves: () => curves,
    isLit: (x, y) => frameLamp !== undefined && frameLamp.bins[y * frame.width + x] === frameLamp.bin,
    abscissa: (index) => radial.curve.q[index]!,
  });
  return (
    <main className="harness">
      <section>
        <FrameView
          ref={frameRef}
          frame={frame}
          geometry={geometry}
          display={state.display}
          tool={state.tool}
          brushRadius={4}
          overlays={{
            beamCentre: centre,
            rings: state.rings,
            sectors: state.sectors,
            annuli: state.annuli,
            shapes: state.shapes,
            selectedShape: state.selectedShape,
            lamp: frameLamp,
            stop: state.stop ? { shape: "circle", x: centre.x, y: centre.y, radius: frame.width * 0.045 } : undefined,
          }}
          onCentreDrag={(x, y, phase) => {
            log.push({ centre: [x, y], phase });
            set({ centre: { x, y } });
          }}
          onSectorChange={(changed, phase) => {
            log.push({ sector: changed, phase });
            set({ sectors: state.sectors.map((one) => (one.id === changed.id ? changed : one)) });
          }}
          onAnnulusChange={(changed, phase) => {
            log.push({ annulus: changed, phase });
            set({ annuli: state.annuli.map((one) => (one.id === changed.id ? changed : one)) });
          }}
          onShapeAdd={(shape) => {
            log.push({ added: shape });
            set({ shapes: [...state.shapes, shape] });
          }}
          onShapeChange={(index, shape, phase) => {
            log.push({ shape, index, phase });
            set({ shapes: state.shapes.map((one, i) => (i === index ? shape : one)) });
          }}
          onShapeDelete={(index) => {
            log.push({ deleted: index });
            set({ shapes: state.shapes.filter((_, i) => i !== index), selectedShape: undefined });
          }}
          onShapeSelect={(index) => set({ selectedShape: index })}
          onHover={setPixel}
        />
      </section>
      <section>
        <CurveView
          ref={curveRef}
          curves={curves}
          axes={state.axes}
          errorBars={true}
          interval={state.interval}
          onIntervalChange={(interval, phase) => {
            log.push({ interval, phase });
            set({ interval });
          }}
          lamp={lamp}
          onLamp={(point) => set({ lamp: point })}
          onExplain={(point) => log.push({ explain: point })}
        />
      </section>
      <div className="harness-range">
        <RangeControl
          frame={frame}
          display={state.display}
          onRangeChange={(range) => set({ display: { ...state.display, range } })}
        />
      </div>
      <div className="harness-readout">
        <FrameReadout frame={frame} geometry={geometry} pixel={pixel} />
      </div>
    </main>
  );
}

const root = document.getElementById("root");
if (root) {
  createRoot(root).render(
    <Harness
      log={[]}
      onReady={(handle) => {
        Object.assign(window, { harness: handle });
      }}
    />,
  );
}

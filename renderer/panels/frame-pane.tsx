import { Popover } from "@base-ui/react/popover";
import { Eye, FlipHorizontal2, Maximize, Minus, Orbit, Palette, Plus, SquareSplitHorizontal } from "lucide-react";
import { useMemo, useState } from "react";
import { useStore } from "zustand";
import { averagesOf, beamCentreOf } from "../../core/plan/defaults.ts";
import type { Plan } from "../../core/plan/plan.ts";
import { FRAME_LAYERS, LAYER_LABELS } from "../anisotropy/facets.ts";
import { useAxisMark } from "../anisotropy/use-axis-mark.ts";
import { RESIDUAL_RANGE, useResidual } from "../anisotropy/use-residual.ts";
import { useApplication, useDocument, useResults } from "../app/application.ts";
import { runCommand } from "../app/commands.ts";
import { Hint } from "../app/parts/hint.tsx";
import { IconButton } from "../app/parts/icon-button.tsx";
import { Pick } from "../app/parts/pick.tsx";
import { CloseUp } from "../beam-stop/close-up.tsx";
import { stopFitOf } from "../beam-stop/stop-fit.ts";
import { FlipStrip, useFlipRows } from "../flip/flip-strip.tsx";
import { useReadFrame } from "../flip/use-read-frame.ts";
import { FrameReadout } from "../frame/frame-readout.tsx";
import { FrameView } from "../frame/frame-view.tsx";
import { automaticRange } from "../frame/histogram.ts";
import { RangeControl } from "../frame/range-control.tsx";
import { createViewLink } from "../frame/view-link.ts";
import { useKeys } from "../keys/use-keys.ts";
import { FirstHead, SecondHead } from "../second-frame/second-frame.tsx";
import { imageBeside, SecondView } from "../second-frame/second-view.tsx";
import { useSecondFrame } from "../second-frame/use-second-frame.ts";
import { samplesOf } from "../state/plan-reading.ts";
import {
  type AnnulusShape,
  type ArrayPoint,
  type DragPhase,
  FRAME_SCALES,
  type FrameDisplay,
  type FrameImage,
  type FrameOverlays,
  PALETTES,
  type SectorShape,
} from "../view-types.ts";
import type { ReductionView } from "../worker/protocol.ts";
import { MaskTools } from "./mask-panel.tsx";
import { shownAverages } from "./shown-averages.ts";

const SCALE_LABELS = { linear: "Linear", log: "Log", "square-root": "Square root" };
const PALETTE_LABELS = { cividis: "Cividis", viridis: "Viridis", magma: "Magma", grey: "Grey", diverging: "Diverging" };
const MASK_STYLES = [
  { value: "hatched" as const, label: "Mask hatched" },
  { value: "tinted" as const, label: "Mask tinted" },
  { value: "off" as const, label: "Mask hidden" },
];

export function FramePane() {
  const application = useApplication();
  const keysOf = useKeys();
  const { document, lamp: lampKeeper, flip, frame: handle } = application;
  const view = useDocument((state) => state.view);
  const plan = useDocument(({ history }) => history?.present.plan);
  const reduction = useResults((state) => state.reduction);
  const pixel = useResults((state) => state.pixel);
  const averageId = useResults(({ reduction: shown }) => shownAverages(shown, view)[0]?.id);
  const { show, act, endGesture } = document.getState();

  const countImage = useCountImage();
  const flipRows = useFlipRows();
  const isAnisotropy = view.question === "anisotropy";
  const residual = useResidual(isAnisotropy ? view.layer : "counts", countImage);
  const [residualRange, setResidualRange] = useState(RESIDUAL_RANGE);
  const image = residual ?? countImage;
  const automatic = useMemo(
    () =>
      countImage === undefined || view.range !== undefined
        ? undefined
        : automaticRange(countImage.counts, countImage.mask, view.scale),
    [countImage, view.scale, view.range],
  );
  const range = view.range ?? automatic ?? { low: 0, high: 1 };
  const { scale, palette, maskStyle, seenFromSample } = view;
  const ofCounts: FrameDisplay = { scale, palette, range, maskStyle, seenFromSample };
  const display: FrameDisplay =
    residual === undefined
      ? ofCounts
      : { scale: "linear", palette: "diverging", range: residualRange, maskStyle, seenFromSample };
  const centre = useMemo(() => centreOnShow(plan, reduction), [plan, reduction]);
  const geometry = useMemo(
    () => (reduction === undefined || centre === undefined ? undefined : { ...reduction.geometry, beamCentre: centre }),
    [reduction, centre],
  );
  const overlays = useOverlays(plan, centre);
  const second = useSecondFrame(view.second);
  const secondImage = useMemo(
    () => (second?.frame === undefined || image === undefined ? undefined : imageBeside(second.frame, image)),
    [second, image],
  );
  const [link] = useState(createViewLink);
  const [pointed, setPointed] = useState<"first" | "second">("first");
  const pointAt = (which: "first" | "second", hovered: ArrayPoint | undefined) => {
    setPointed(which);
    lampKeeper.overPixel(hovered, averageId);
  };

  /** Changes of one drag are one step of undo; letting go ends it. */
  const drag = (phase: DragPhase, change: () => void) => {
    change();
    if (phase === "end") endGesture();
  };
  const changeSector = (sector: SectorShape, phase: DragPhase) => {
    const average = plan === undefined ? undefined : averagesOf(plan).find(({ id }) => id === sector.id);
    if (average?.kind !== "sector") return;
    const { centre_deg, halfWidth_deg } = sector;
    drag(phase, () =>
      act(
        { type: "replace-average", id: sector.id, average: { ...average, centre_deg, halfWidth_deg } },
        `sector:${sector.id}`,
      ),
    );
  };
  const changeAnnulus = ({ id, qMin, qMax }: AnnulusShape, phase: DragPhase) => {
    const average = plan === undefined ? undefined : averagesOf(plan).find((entry) => entry.id === id);
    if (average?.kind !== "annulus") return;
    drag(phase, () => act({ type: "replace-average", id, average: { ...average, qMin, qMax } }, `annulus:${id}`));
  };

  return (
    <section className={flipRows.length > 0 ? "pane with-strip" : "pane"} aria-label="Frame">
      <div className="pane-bar">
        <MaskTools />
        <span className="bar-gap" />
        {isAnisotropy && (
          <Pick
            label="What the frame shows"
            value={view.layer}
            options={FRAME_LAYERS.map((value) => ({ value, label: LAYER_LABELS[value] }))}
            onPick={(layer) => show({ layer })}
            narrow
          />
        )}
        {residual === undefined && (isAnisotropy ? <ColourMenu /> : <ColourPicks />)}
        <span className="bar-gap" />
        <IconButton
          icon={Orbit}
          label="Q rings"
          keys={keysOf("rings")}
          pressed={view.rings}
          onClick={() => runCommand("rings", application)}
        />
        <IconButton
          icon={SquareSplitHorizontal}
          label="Second frame"
          hint="A second frame beside this one"
          keys={keysOf("second-frame")}
          pressed={view.second !== undefined}
          onClick={() => runCommand("second-frame", application)}
        />
        <IconButton
          icon={FlipHorizontal2}
          label="Seen from the sample"
          hint="Seen from the sample: mirrors the picture, never the data"
          pressed={seenFromSample}
          onClick={() => show({ seenFromSample: !seenFromSample })}
        />
        <IconButton
          icon={Eye}
          label={MASK_STYLES.find(({ value }) => value === maskStyle)?.label ?? "Mask"}
          hint="Mask hatched, tinted or hidden"
          pressed={maskStyle !== "off"}
          onClick={() => show({ maskStyle: nextMaskStyle(maskStyle) })}
        />
        <span className="bar-end" />
        <IconButton
          icon={Minus}
          label="Zoom out"
          keys={keysOf("zoom-out")}
          onClick={() => runCommand("zoom-out", application)}
        />
        <IconButton
          icon={Plus}
          label="Zoom in"
          keys={keysOf("zoom-in")}
          onClick={() => runCommand("zoom-in", application)}
        />
        <IconButton
          icon={Maximize}
          label="Fit the frame"
          keys={keysOf("fit")}
          onClick={() => runCommand("fit", application)}
        />
      </div>
      <div className="pane-view">
        <div className={view.second === undefined ? "frame-pair" : "frame-pair two"}>
          <div className="frame-half">
            {view.second !== undefined && <FirstHead />}
            <FrameView
              link={link}
              ref={(mounted) => {
                handle.current = mounted;
              }}
              frame={image}
              geometry={geometry}
              display={display}
              overlays={pointed === "second" ? { ...overlays, pointer: pixel } : overlays}
              tool={view.tool}
              onFlip={flipRows.length > 0 ? (by) => flip.step(by) : undefined}
              brushRadius={view.brushRadius_px}
              onCentreDrag={(x, y, phase) => drag(phase, () => act({ type: "move-centre", x, y }, "centre"))}
              onSectorChange={changeSector}
              onAnnulusChange={changeAnnulus}
              onShapeAdd={(shape) => act({ type: "add-shape", shape })}
              onShapeChange={(index, shape, phase) =>
                drag(phase, () => act({ type: "replace-shape", index, shape }, `shape:${index}`))
              }
              onShapeDelete={(index) => act({ type: "remove-shape", index })}
              onShapeSelect={(selectedShape) => show({ selectedShape })}
              onHover={(hovered) => pointAt("first", hovered)}
            />
          </div>
          {view.second !== undefined && (
            <div className="frame-half">
              <SecondHead choice={view.second} />
              {second?.trouble === undefined ? (
                <SecondView
                  image={secondImage}
                  display={ofCounts}
                  pixel={pointed === "first" ? pixel : undefined}
                  link={link}
                  geometry={geometry}
                  onHover={(hovered) => pointAt("second", hovered)}
                />
              ) : (
                <p className="half-trouble">{second.trouble}</p>
              )}
            </div>
          )}
        </div>
        {image !== undefined && overlays.stopFit !== undefined && (
          <CloseUp
            image={image}
            fit={overlays.stopFit}
            palette={palette}
            pixelAspect={geometry === undefined ? 1 : geometry.pixelSizeY / geometry.pixelSizeX}
            seenFromSample={seenFromSample}
          />
        )}
      </div>
      {flipRows.length > 0 && <FlipStrip rows={flipRows} range={range} />}
      <div className="pane-foot">
        <RangeControl
          frame={image}
          display={display}
          onRangeChange={(next) => (residual === undefined ? show({ range: next }) : setResidualRange(next))}
        />
        <FrameReadout frame={image} geometry={geometry} pixel={pixel} second={secondImage} />
      </div>
    </section>
  );
}

/** How counts become colours. A residual has its own way. */
function ColourPicks({ narrow = true }: { readonly narrow?: boolean }) {
  const { document } = useApplication();
  const scale = useDocument(({ view }) => view.scale);
  const palette = useDocument(({ view }) => view.palette);
  const { show } = document.getState();
  return (
    <>
      <Pick
        label="Scale of the counts"
        value={scale}
        options={FRAME_SCALES.map((value) => ({ value, label: SCALE_LABELS[value] }))}
        onPick={(next) => show({ scale: next, range: undefined })}
        narrow={narrow}
      />
      <Pick
        label="Palette"
        value={palette}
        options={PALETTES.map((value) => ({ value, label: PALETTE_LABELS[value] }))}
        onPick={(next) => show({ palette: next })}
        narrow={narrow}
      />
    </>
  );
}

/** The same behind a button, where the bar has another choice to show. */
function ColourMenu() {
  return (
    <Popover.Root>
      <Hint text="Scale and palette of the counts">
        <Popover.Trigger className="icon-button" aria-label="Scale and palette">
          <Palette size={16} strokeWidth={1.75} aria-hidden />
        </Popover.Trigger>
      </Hint>
      <Popover.Portal>
        <Popover.Positioner className="floating-positioner" sideOffset={4} align="start">
          <Popover.Popup className="menu list-menu">
            <ColourPicks narrow={false} />
          </Popover.Popup>
        </Popover.Positioner>
      </Popover.Portal>
    </Popover.Root>
  );
}

/**
 * The counts on show: those of the place that is leafed to, under the mask of the last reduction where it fits, or those
 * of the reduction. All samples of a plan have one id, so that leafing keeps what is in sight.
 */
function useCountImage(): FrameImage | undefined {
  const { flip } = useApplication();
  const reduction = useResults((state) => state.reduction);
  const leafed = useStore(flip.store, (state) => state.frame);
  const samples = useDocument(({ history }) => history?.present.plan.runs.sample);
  // A run that lacks numbers has no curve yet, but its counts can be looked at.
  const isWithout = useResults(({ fault }) => fault !== undefined) && reduction === undefined;
  const sample = useDocument(({ history, view }) => history && samplesOf(history.present.plan)[view.sampleIndex]);
  const bare = useReadFrame(isWithout ? sample : undefined)?.frame;
  return useMemo((): FrameImage | undefined => {
    const id = JSON.stringify(samples);
    const read = leafed ?? bare;
    if (read === undefined) {
      return reduction && { ...reduction.frame, id, mask: reduction.mask, quantity: "counts" };
    }
    const { counts } = read;
    const mask = reduction?.mask.length === counts.length ? reduction.mask : new Uint16Array(counts.length);
    return { ...read, id, mask, quantity: "counts" };
  }, [leafed, bare, reduction, samples]);
}

function nextMaskStyle(style: (typeof MASK_STYLES)[number]["value"]) {
  const place = MASK_STYLES.findIndex(({ value }) => value === style);
  return MASK_STYLES[(place + 1) % MASK_STYLES.length]?.value ?? "hatched";
}

interface ShownCentre extends ArrayPoint {
  readonly xSigma?: number;
  readonly ySigma?: number;
}

/** The centre of the reduction; where the plan has been moved on from that, the plan's. */
function centreOnShow(plan: Plan | undefined, reduction: ReductionView | undefined): ShownCentre | undefined {
  if (reduction === undefined || plan === undefined) return reduction?.beamCentre;
  const given = givenCentre(plan);
  const reduced = givenCentre(reduction.ledger.plan as Plan);
  if (given === undefined || (given[0] === reduced?.[0] && given[1] === reduced[1])) return reduction.beamCentre;
  return { x: given[0], y: given[1] };
}

function givenCentre(plan: Plan): readonly [number, number] | undefined {
  const given = plan.metadata?.sample?.["beamCentre_px"] ?? plan.metadata?.all?.["beamCentre_px"];
  return beamCentreOf(plan).method === "given" && typeof given === "object" ? given : undefined;
}

function useOverlays(plan: Plan | undefined, centre: ShownCentre | undefined): FrameOverlays {
  const rings = useDocument(({ view }) => view.rings);
  const selectedShape = useDocument(({ view }) => view.selectedShape);
  const stop = useResults(({ reduction }) => reduction?.beamStop);
  const report = useResults((state) => state.stop);
  const isStopQuestion = useDocument(({ view }) => view.question === "beam-stop");
  const lampPoint = useResults(({ lamp, pinned }) => lamp ?? pinned);
  const reduction = useResults((state) => state.reduction);
  const binMaps = useResults((state) => state.binMaps);
  const axis = useAxisMark();
  return useMemo((): FrameOverlays => {
    const averages = plan === undefined ? [] : averagesOf(plan);
    const bins =
      lampPoint === undefined || binMaps.serial !== reduction?.serial ? undefined : binMaps.maps[lampPoint.key];
    const average = [...(reduction?.curves ?? []), ...(reduction?.profiles ?? [])].find(
      ({ id }) => id === lampPoint?.key,
    );
    const bin = lampPoint === undefined ? undefined : average?.bin[lampPoint.index];
    return {
      beamCentre: centre,
      beamCentreSigma:
        centre?.xSigma === undefined || centre.ySigma === undefined
          ? undefined
          : { x: centre.xSigma, y: centre.ySigma },
      rings,
      stop,
      stopFit: isStopQuestion && report !== undefined ? stopFitOf(report) : undefined,
      sectors: averages.flatMap((entry) =>
        entry.kind === "sector" ? [{ ...entry, mirrored: entry.mirrored ?? false }] : [],
      ),
      annuli: averages.filter((entry) => entry.kind === "annulus"),
      shapes: plan?.mask?.shapes ?? [],
      selectedShape,
      lamp: bins === undefined || bin === undefined ? undefined : { bins, bin },
      axis,
    };
  }, [plan, centre, rings, selectedShape, stop, report, isStopQuestion, lampPoint, reduction, binMaps, axis]);
}

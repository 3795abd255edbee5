import { type ReactElement, type ReactNode, useMemo } from "react";
import { readable, withSigma } from "../../core/model/numbers.ts";
import { CloseUpPicture } from "../frame/close-up-picture.tsx";
import { inTens } from "../state/ledger-face.ts";
import { baseName } from "../state/plan-file.ts";
import { faultInWords, ROLE_LABELS } from "../state/plan-words.ts";
import type { ArrayPoint, DragPhase, PaletteName } from "../view-types.ts";
import type { DirectBeamView, ShownBeam } from "../worker/direct-beam-view.ts";
import type { BeamCountsShown } from "./beam-numbers.ts";
import { RadiusOverlay } from "./radius-overlay.tsx";

/** CSS px. */
const SIDE = 104;

export interface BeamTileProps {
  readonly view: DirectBeamView;
  readonly counts: BeamCountsShown | undefined;
  readonly normalisedBy: string | undefined;
  readonly circle: (ArrayPoint & { readonly radius: number }) | undefined;
  /** Half of what the picture shows, px. */
  readonly half: number;
  readonly palette: PaletteName;
  readonly pixelAspect: number;
  readonly seenFromSample: boolean;
  readonly onRadius: (radius: number, phase: DragPhase) => void;
}

/** One direct-beam run: its spot, the circle, and what was counted in it. */
export function BeamTile(props: BeamTileProps): ReactElement {
  const { role, shown } = props.view;
  const label = ROLE_LABELS[role];
  if (!shown.ok)
    return (
      <li className="beam-tile" data-role={role}>
        <h3 className="beam-name">{label}</h3>
        <p className="teach fault-text">{faultInWords(shown.fault)}</p>
      </li>
    );
  return <ReadBeam {...props} beam={shown.value} label={label} />;
}

function ReadBeam({
  view: { role },
  counts,
  normalisedBy,
  circle,
  half,
  palette,
  pixelAspect,
  seenFromSample,
  onRadius,
  beam,
  label,
}: BeamTileProps & { readonly beam: ShownBeam; readonly label: string }): ReactElement {
  const spot = beam.spot.ok ? beam.spot.value : undefined;
  const middle = circle ?? spot ?? { x: (beam.width - 1) / 2, y: (beam.height - 1) / 2 };
  const image = useMemo(() => {
    const { width, height, counts: pixels, orientation } = beam;
    return { width, height, counts: pixels, orientation };
  }, [beam]);
  return (
    <li className="beam-tile" data-role={role}>
      <h3 className="beam-name">
        {label} <span className="beam-file">{baseName(beam.file)}</span>
      </h3>
      <figure className="beam-picture" aria-label={`Spot of ${label.toLowerCase()}`}>
        <CloseUpPicture
          image={image}
          view={{ x: middle.x, y: middle.y, half }}
          side={SIDE}
          palette={palette}
          pixelAspect={pixelAspect}
          seenFromSample={seenFromSample}
        >
          <RadiusOverlay
            circle={circle}
            radius={circle?.radius ?? 0}
            spot={spot}
            label={`Radius of the direct beam, in ${label.toLowerCase()}`}
            onChange={onRadius}
          />
        </CloseUpPicture>
      </figure>
      <dl className="beam-facts">
        {spot === undefined ? (
          <Fact label="Centre">{beam.spot.ok ? "" : "no spot stands out"}</Fact>
        ) : (
          <>
            <Fact label="x, px">{withSigma(spot.x, spot.xSigma)}</Fact>
            <Fact label="y, px">{withSigma(spot.y, spot.ySigma)}</Fact>
          </>
        )}
        {counts === undefined ? (
          <Fact label="Counts">not summed</Fact>
        ) : (
          <>
            <Fact label="Counts inside" hint="After dead time, blocked beam and flood">
              {inTens(Math.round(counts.net))}
            </Fact>
            <Fact label="Pixels">{String(counts.pixels)}</Fact>
          </>
        )}
        <Fact label="Attenuation" hint={beam.metadata.attenuation?.from ?? "named by neither file nor plan"}>
          {beam.metadata.attenuation === undefined ? "none" : readable(beam.metadata.attenuation.value)}
        </Fact>
        <Normalisation beam={beam} by={normalisedBy} />
      </dl>
    </li>
  );
}

function Normalisation({ beam, by }: { readonly beam: ShownBeam; readonly by: string | undefined }): ReactElement {
  const { monitorCounts, countTime } = beam.metadata;
  if (by === "time" || monitorCounts === undefined)
    return (
      <Fact label="Time" unit="s" hint={countTime?.from}>
        {countTime === undefined ? "not known" : readable(countTime.value)}
      </Fact>
    );
  return (
    <Fact label="Monitor" hint={monitorCounts.from}>
      {inTens(monitorCounts.value)}
    </Fact>
  );
}

function Fact({
  label,
  unit,
  hint,
  children,
}: {
  readonly label: string;
  readonly unit?: string;
  readonly hint?: string | undefined;
  readonly children: ReactNode;
}): ReactElement {
  return (
    <div title={hint}>
      <dt>{label}</dt>
      <dd className="quantity">
        {children}
        {unit !== undefined && <span className="unit">{unit}</span>}
      </dd>
    </div>
  );
}

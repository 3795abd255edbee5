import "./reach.css";
import { Dialog } from "@base-ui/react/dialog";
import { Copy, Crosshair, Trash2, X } from "lucide-react";
import { type RefObject, useMemo, useRef } from "react";
import { beamFootprint } from "../../core/beam/footprint.ts";
import type { CameraReach } from "../../core/geometry/camera-reach.ts";
import type { QSpan } from "../../core/geometry/reach-seams.ts";
import { useApplication, useDocument, useResults } from "../app/application.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import { NumberBox } from "../app/parts/number-box.tsx";
import { readLength } from "../app/parts/read-quantity.ts";
import type { ReductionView } from "../worker/protocol.ts";
import { ReachChart } from "./reach-chart.tsx";
import {
  cameraOf,
  EXAMPLE_SETTINGS,
  isAllowed,
  MOST_ROWS,
  type ReachBank,
  type ReachRow,
  type ReachSettings,
  reachOf,
  seamsOfReaches,
  settingsOfRun,
  spanOf,
} from "./reach-settings.ts";
import { reachSentence, relativeSigma, seamWords, short, sizesOf } from "./reach-words.ts";

interface FieldOf<T> {
  readonly key: keyof T & string;
  readonly label: string;
  readonly unit: string;
}

const ROW_FIELDS: readonly FieldOf<ReachRow>[] = [
  { key: "distance_m", label: "Distance", unit: "m" },
  { key: "wavelength_A", label: "Wavelength", unit: "Å" },
  { key: "stopRadius_mm", label: "Stop radius", unit: "mm" },
  { key: "collimation_m", label: "Collimation", unit: "m" },
  { key: "sourceAperture_mm", label: "Source aperture", unit: "mm" },
  { key: "centreX_px", label: "Centre x", unit: "px" },
  { key: "centreY_px", label: "Centre y", unit: "px" },
];

const BANK_FIELDS: readonly FieldOf<ReachBank>[] = [
  { key: "width_px", label: "Bank width", unit: "px" },
  { key: "height_px", label: "Bank height", unit: "px" },
  { key: "pixelX_mm", label: "Pixel, x", unit: "mm" },
  { key: "pixelY_mm", label: "Pixel, y", unit: "mm" },
  { key: "sampleAperture_mm", label: "Sample aperture", unit: "mm" },
  { key: "wavelengthSpread", label: "Wavelength spread", unit: "FWHM/mean" },
];

/** Which distance, wavelength and stop reach which sizes. */
export function ReachSheet() {
  const { document } = useApplication();
  const isOpen = useDocument(({ view }) => view.sheet === "reach");
  const first = useRef<HTMLTableElement>(null);
  return (
    <Dialog.Root open={isOpen} onOpenChange={(open) => document.getState().show({ sheet: open ? "reach" : undefined })}>
      <Dialog.Portal>
        <Dialog.Backdrop className="backdrop" />
        <Dialog.Popup className="sheet" initialFocus={first}>
          <Content first={first} />
        </Dialog.Popup>
      </Dialog.Portal>
    </Dialog.Root>
  );
}

/** @param first takes the focus at first: a button would show its hint, which then takes the first Escape */
function Content({ first }: { readonly first: RefObject<HTMLTableElement | null> }) {
  const { document } = useApplication();
  const kept = useDocument(({ view }) => view.reach);
  const reduction = useResults((state) => state.reduction);
  const ofRun = useMemo(() => (reduction === undefined ? undefined : settingsOfRun(reduction)), [reduction]);
  const settings = kept ?? ofRun ?? EXAMPLE_SETTINGS;
  const data = useMemo(() => dataSpan(reduction), [reduction]);
  const reaches = settings.rows.map((row) => reachOf(row, settings.bank));
  const seams = seamsOfReaches(reaches);
  const show = (reach: ReachSettings | undefined) => document.getState().show({ reach });
  const setRow = (place: number, change: Partial<ReachRow>) =>
    show({ ...settings, rows: settings.rows.map((row, i) => (i === place ? { ...row, ...change } : row)) });
  const sentences = [...reaches.map(reachSentence), ...seams.map(seamWords)];

  return (
    <>
      <header className="sheet-head">
        <Dialog.Title className="sheet-title">Camera reach</Dialog.Title>
        <Dialog.Description className="sheet-words">
          Which distance, wavelength and stop see which sizes. The full bar holds whole rings, the hatched end reaches
          into the corners of the bank.
        </Dialog.Description>
        <IconButton
          icon={Crosshair}
          label="As in this run"
          hint={ofRun === undefined ? "No run is open" : "Compare from the camera of the run on show"}
          disabled={ofRun === undefined || kept === undefined}
          onClick={() => show(undefined)}
        >
          As in this run
        </IconButton>
        <Dialog.Close className="icon-button" aria-label="Close">
          <X size={16} strokeWidth={1.75} aria-hidden />
        </Dialog.Close>
      </header>
      <ReachChart reaches={reaches} seams={seams} data={data} words={sentences.join(" ")} />
      {data !== undefined && (
        <p className="reach-note">
          <span className="reach-data-swatch" aria-hidden /> The curve on show: Q from {short(data.low)} to{" "}
          {short(data.high)} 1/Å, sizes {sizesOf(data)} nm.
        </p>
      )}
      <div className="reach-scroll">
        <table className="reach-table" ref={first} tabIndex={-1}>
          <thead>
            <tr>
              <th scope="col">Setting</th>
              {ROW_FIELDS.map(({ key, label, unit }) => (
                <th key={key} scope="col">
                  {label} <span className="unit">{unit}</span>
                </th>
              ))}
              <th scope="col">
                Q <span className="unit">1/Å</span>
              </th>
              <th scope="col">
                Sizes <span className="unit">nm</span>
              </th>
              <th scope="col">
                dQ/Q <span className="unit">first, last</span>
              </th>
              <th scope="col">
                <span className="visually-hidden">Actions</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {settings.rows.map((row, place) => (
              <SettingRow
                // biome-ignore lint/suspicious/noArrayIndexKey: settings have no identity but their place
                key={place}
                place={place}
                row={row}
                bank={settings.bank}
                reach={reaches[place]}
                onChange={(change) => setRow(place, change)}
                onCopy={
                  settings.rows.length < MOST_ROWS
                    ? () => show({ ...settings, rows: settings.rows.toSpliced(place + 1, 0, row) })
                    : undefined
                }
                onRemove={
                  settings.rows.length > 1
                    ? () => show({ ...settings, rows: settings.rows.toSpliced(place, 1) })
                    : undefined
                }
              />
            ))}
          </tbody>
        </table>
      </div>
      <fieldset className="reach-bank">
        <legend className="visually-hidden">For all settings</legend>
        {BANK_FIELDS.map(({ key, label, unit }) => (
          <Field
            key={key}
            name={key}
            label={label}
            unit={unit}
            value={settings.bank[key]}
            onChange={(value) => show({ ...settings, bank: { ...settings.bank, [key]: value } })}
          />
        ))}
      </fieldset>
      <ul className="reach-seams" aria-live="polite">
        {seams.map((seam) => (
          <li key={`${seam.below}-${seam.above}`} className={seam.kind}>
            {seamWords(seam)}
          </li>
        ))}
        {settings.rows.map((row, place) => (
          <StopWarning
            // biome-ignore lint/suspicious/noArrayIndexKey: settings have no identity but their place
            key={place}
            place={place}
            row={row}
            bank={settings.bank}
          />
        ))}
      </ul>
    </>
  );
}

function SettingRow({
  place,
  row,
  bank,
  reach,
  onChange,
  onCopy,
  onRemove,
}: {
  readonly place: number;
  readonly row: ReachRow;
  readonly bank: ReachBank;
  readonly reach: CameraReach | undefined;
  readonly onChange: (change: Partial<ReachRow>) => void;
  readonly onCopy: (() => void) | undefined;
  readonly onRemove: (() => void) | undefined;
}) {
  if (reach === undefined) throw new RangeError(`setting ${place} has no reach`);
  const span = spanOf(reach);
  const last = reach.qEdge === span.high ? reach.sigmaAtEdge : reach.sigmaAtCorner;
  const [first, end] = [relativeSigma(reach.sigmaAtMin, span.low), relativeSigma(last, span.high)];
  return (
    <tr>
      <th scope="row">
        <span className="reach-swatch" style={{ background: `var(--curve-${place % 8})` }} aria-hidden />
        {place + 1}
      </th>
      {ROW_FIELDS.map(({ key, label, unit }) => (
        <td key={key}>
          <Field
            name={key}
            label={`${label} of setting ${place + 1}`}
            unit={unit}
            value={row[key]}
            hideLabel
            onChange={(value) => onChange({ [key]: value })}
          />
        </td>
      ))}
      <td className="reach-result" title={LIMIT_WORDS[reach.limit]}>
        {short(span.low)} – {short(span.high)}
        {reach.qCorner > span.high && <span className="unit">({short(reach.qCorner)} in the corner)</span>}
      </td>
      <td className="reach-result">{sizesOf(span)}</td>
      <td className="reach-result">
        {first === undefined || end === undefined ? (
          <span className="quantity unknown" title={whatIsMissing(row, bank)}>
            not known
          </span>
        ) : (
          `${first}, ${end}`
        )}
      </td>
      <td className="reach-actions">
        <IconButton
          icon={Copy}
          label={`One more setting like ${place + 1}`}
          disabled={onCopy === undefined}
          onClick={() => onCopy?.()}
        />
        <IconButton
          icon={Trash2}
          label={`Remove setting ${place + 1}`}
          disabled={onRemove === undefined}
          onClick={() => onRemove?.()}
        />
      </td>
    </tr>
  );
}

const LIMIT_WORDS: Readonly<Record<CameraReach["limit"], string>> = {
  stop: "The lowest Q lies at the rim of the stop's shadow",
  resolution: "The lowest Q is as wide as its own resolution (full width at half maximum)",
  bank: "The lowest Q lies at the border of the bank",
};

function whatIsMissing(row: ReachRow, bank: ReachBank): string {
  const missing = [
    [row.collimation_m, "collimation"],
    [row.sourceAperture_mm, "source aperture"],
    [bank.sampleAperture_mm, "sample aperture"],
    [bank.wavelengthSpread, "wavelength spread"],
  ].flatMap(([value, name]) => (value === undefined ? [name] : []));
  return `Not given: ${missing.join(", ")}`;
}

/** A number with its unit; lengths may be typed in another unit of length. Emptied: not known, where that may be. */
function Field({
  name,
  label,
  unit,
  value,
  hideLabel = false,
  onChange,
}: {
  readonly name: string;
  readonly label: string;
  readonly unit: string;
  readonly value: number | undefined;
  readonly hideLabel?: boolean;
  readonly onChange: (value: number | undefined) => void;
}) {
  const isLength = unit === "m" || unit === "mm" || unit === "Å";
  const mayBeEmpty = MAY_BE_EMPTY.includes(name);
  return (
    <NumberBox
      label={label}
      fullLabel={`${label}, ${unit}`}
      hideLabel={hideLabel}
      value={value}
      placeholder={mayBeEmpty ? "not known" : ""}
      {...(hideLabel ? {} : { unit })}
      {...(isLength ? { read: (text: string) => readLength(text, unit) } : {})}
      allows={(next) => isAllowed(name, next)}
      onChange={onChange}
      onClear={mayBeEmpty ? () => onChange(undefined) : undefined}
    />
  );
}

const MAY_BE_EMPTY: readonly string[] = [
  "collimation_m",
  "sourceAperture_mm",
  "sampleAperture_mm",
  "wavelengthSpread",
] satisfies (keyof ReachRow | keyof ReachBank)[];

/** A stop that the unscattered beam passes by: the apertures say how wide the beam is. */
function StopWarning({
  place,
  row,
  bank,
}: {
  readonly place: number;
  readonly row: ReachRow;
  readonly bank: ReachBank;
}) {
  const { geometry, collimation } = cameraOf(row, bank);
  const beam = beamFootprint(collimation, geometry.distance);
  if (beam === undefined || beam.outerRadius * 1000 <= row.stopRadius_mm) return null;
  return (
    <li className="gap">
      Setting {place + 1}: the direct beam reaches {short(beam.outerRadius * 1000)} mm from its centre, beyond the stop
      of {short(row.stopRadius_mm)} mm.
    </li>
  );
}

/** Q of the first curve on show, over the points that have a value. */
function dataSpan(reduction: ReductionView | undefined): QSpan | undefined {
  const curve = reduction?.curves[0];
  if (curve === undefined) return undefined;
  const seen = [...curve.q].filter((q, i) => q > 0 && Number.isFinite(curve.intensity[i]));
  const [low, high] = [Math.min(...seen), Math.max(...seen)];
  return low < high ? { low, high } : undefined;
}

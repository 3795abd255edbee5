import "./readout.css";
import { type ReactElement, useMemo } from "react";
import { MASK_REASON_LABELS, maskReasons } from "../../core/model/mask.ts";
import { azimuthDegrees, readable } from "../../core/model/numbers.ts";
import type { FrameReadoutProps } from "../view-types.ts";
import { bankOptics, opticsAt } from "./bank-optics.ts";
import { pixelAt } from "./display-transform.ts";

const DEGREES = 180 / Math.PI;

/** What the inspected pixel holds and sees. Values come from the frame's own array: a texture would round large counts. */
export function FrameReadout({ frame, geometry, pixel, second }: FrameReadoutProps): ReactElement {
  const optics = useMemo(() => geometry && bankOptics(geometry), [geometry]);
  const at = frame && pixel ? pixelAt(frame, pixel) : undefined;
  const p = frame && at ? at.y * frame.width + at.x : undefined;
  const value = p === undefined ? undefined : frame?.counts[p];
  const place = second && pixel ? pixelAt(second, pixel) : undefined;
  const beside = second && place ? second.counts[place.y * second.width + place.x] : undefined;
  const bits = p === undefined ? 0 : (frame?.mask[p] ?? 0);
  const seen = at && optics ? opticsAt(optics, at) : undefined;
  const masked = maskReasons(bits).map((reason) => MASK_REASON_LABELS[reason]);
  return (
    <section className="readout" aria-label="Inspected pixel">
      <dl className={second ? "readout-fields two" : "readout-fields"}>
        <Field name="x" value={at && String(at.x)} unit="" width={4} />
        <Field name="y" value={at && String(at.y)} unit="" width={4} />
        <Field
          name={capital(frame?.quantity ?? "counts")}
          value={value === undefined ? undefined : wholeOrReadable(value)}
          unit=""
          width={6}
        />
        {second && (
          <Field name="Beside" value={beside === undefined ? undefined : wholeOrReadable(beside)} unit="" width={6} />
        )}
        <Field name="Q" value={seen && readable(seen.q)} unit="1/Å" width={7} />
        <Field name="φ" value={seen && azimuthDegrees(seen.phi).toFixed(1)} unit="°" width={5} />
        <Field name="2θ" value={seen && (seen.twoTheta * DEGREES).toFixed(3)} unit="°" width={6} />
        <div className="readout-field readout-mask">
          <dt>Mask</dt>
          <dd>{at === undefined ? "–" : masked.length > 0 ? masked.join(", ") : "in use"}</dd>
        </div>
      </dl>
    </section>
  );
}

interface FieldProps {
  readonly name: string;
  readonly value: string | undefined;
  readonly unit: string;
  /** Room for so many characters, so that the strip keeps still while the pointer moves. */
  readonly width: number;
}

function Field({ name, value, unit, width }: FieldProps): ReactElement {
  return (
    <div className="readout-field">
      <dt>{name}</dt>
      <dd>
        <span className="number" style={{ minWidth: `${width}ch` }}>
          {value ?? "–"}
        </span>
        {unit !== "" && <span className={value === undefined ? "unit readout-blank" : "unit"}>{unit}</span>}
      </dd>
    </div>
  );
}

/** Counts are told to the last one. */
function wholeOrReadable(value: number): string {
  return Number.isSafeInteger(value) ? String(value) : readable(value);
}

function capital(word: string): string {
  return word.charAt(0).toUpperCase() + word.slice(1);
}

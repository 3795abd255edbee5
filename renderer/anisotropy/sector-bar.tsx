import "./anisotropy.css";
import { readable } from "../../core/model/numbers.ts";
import { MAX_SECTOR_HALF_WIDTH_DEG, type Sectors } from "../../core/plan/assess-anisotropy.ts";
import { useApplication, useDocument } from "../app/application.ts";
import { NumberBox } from "../app/parts/number-box.tsx";
import { useAnisotropy } from "./use-anisotropy.ts";

const DEGREE = Math.PI / 180;
/** A narrower sector holds hardly a pixel near the beam. */
const NARROWEST_DEG = 1;

/** Direction of the magnetic field and width of the sectors, with what that width costs. */
export function SectorBar() {
  const { document } = useApplication();
  const field_deg = useDocument(({ view }) => view.field_deg);
  const halfWidth_deg = useDocument(({ view }) => view.sectorHalfWidth_deg);
  const answer = useAnisotropy();
  const { show } = document.getState();
  return (
    <div className="sector-bar">
      <NumberBox
        label="Field"
        fullLabel="Direction of the magnetic field"
        value={field_deg}
        unit="°"
        placeholder="fitted"
        allows={(value) => Math.abs(value) <= 360}
        onChange={(value) => show({ field_deg: value })}
        onClear={() => show({ field_deg: undefined })}
      />
      <NumberBox
        label="Half-width"
        fullLabel="Half-width of the sectors"
        value={halfWidth_deg}
        unit="°"
        allows={(value) => value >= NARROWEST_DEG && value <= MAX_SECTOR_HALF_WIDTH_DEG}
        onChange={(value) => show({ sectorHalfWidth_deg: value })}
      />
      <p className="sector-cost" role="status">
        {answer !== undefined && costInWords(answer.sectors)}
      </p>
    </div>
  );
}

function costInWords(sectors: Sectors | undefined): string {
  if (sectors === undefined)
    return "No axis is proved in the first annulus: type a direction of the field to have sectors about it.";
  const { axis, axisFrom, cost } = sectors;
  const about = `${axisFrom === "field" ? "the field" : "the axis"} at ${readable(axis / DEGREE)}°`;
  const percent = (share: number) => `${Math.round(100 * share)} %`;
  return `About ${about}: ${percent(cost.countsShare)} of the counts, ${percent(cost.dilution)} of the difference kept, its sigma ${cost.relativeSigma.toFixed(2)} times the least.`;
}

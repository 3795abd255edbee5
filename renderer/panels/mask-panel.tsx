import { Circle, MousePointer2, Paintbrush, Pentagon, Square, Trash2, X } from "lucide-react";
import { useMemo } from "react";
import { countMasked, MASK_REASON_LABELS, type MaskReason } from "../../core/model/mask.ts";
import type { MaskShape } from "../../core/plan/plan.ts";
import { useApplication, useDocument, useResults } from "../app/application.ts";
import { runCommand, TOOL_TITLES } from "../app/commands.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import { NumberBox } from "../app/parts/number-box.tsx";
import { Section } from "../app/parts/section.tsx";
import { ToggleRow } from "../app/parts/toggle-row.tsx";
import { useKeys } from "../keys/use-keys.ts";
import type { AutoMask } from "../state/plan-actions.ts";
import type { DrawTool } from "../view-types.ts";

const AUTO: readonly { readonly kind: AutoMask; readonly label: string; readonly reason: MaskReason }[] = [
  { kind: "beam-stop", label: "Beam stop", reason: "beamStop" },
  { kind: "hot", label: "Hot pixels", reason: "hot" },
  { kind: "dead", label: "Dead pixels", reason: "dead" },
];

const TOOL_ICONS = { select: MousePointer2, circle: Circle, rectangle: Square, polygon: Pentagon, brush: Paintbrush };
const LARGEST_BRUSH_PX = 200;

/** The drawing tools, for the panel and for the frame's own bar. */
export function MaskTools() {
  const application = useApplication();
  const keysOf = useKeys();
  const tool = useDocument(({ view }) => view.tool);
  const ready = useResults(({ reduction }) => reduction !== undefined);
  return (
    <div className="tools" role="toolbar" aria-label="Tools">
      {(Object.keys(TOOL_ICONS) as DrawTool[]).map((entry) => (
        <IconButton
          key={entry}
          icon={TOOL_ICONS[entry]}
          label={TOOL_TITLES[entry]}
          keys={keysOf(`tool-${entry}`)}
          pressed={tool === entry}
          disabled={!ready}
          onClick={() => runCommand(`tool-${entry}`, application)}
        />
      ))}
    </div>
  );
}

export function MaskPanel() {
  const { document } = useApplication();
  const mask = useDocument(({ history }) => history?.present.plan.mask);
  const exists = useDocument(({ history }) => history !== undefined);
  const brush = useDocument(({ view }) => view.brushRadius_px);
  const selected = useDocument(({ view }) => view.selectedShape);
  const bits = useResults(({ reduction }) => reduction?.mask);
  const counted = useMemo(() => (bits === undefined ? undefined : countMasked(bits)), [bits]);
  if (!exists) return null;
  const { act, show } = document.getState();
  const shapes = mask?.shapes ?? [];
  const note = (reason: MaskReason) => {
    const masked = counted?.byReason[reason] ?? 0;
    return masked > 0 ? `${masked} px` : undefined;
  };
  const handled = new Set<MaskReason>(["beamStop", "hot", "dead", "edge"]);
  const others = (Object.keys(MASK_REASON_LABELS) as MaskReason[]).filter(
    (reason) => !handled.has(reason) && (counted?.byReason[reason] ?? 0) > 0,
  );

  return (
    <Section
      title="Mask"
      aside={counted !== undefined && <span className="section-count">{counted.total} px masked</span>}
    >
      {AUTO.map(({ kind, label, reason }) => (
        <ToggleRow
          key={kind}
          label={label}
          note={note(reason)}
          on={mask?.auto?.includes(kind) ?? false}
          onChange={(on) => act({ type: "switch-auto-mask", kind, on })}
        />
      ))}
      <div className="row">
        <NumberBox
          label="Edge"
          value={mask?.edge_px ?? 0}
          unit="px"
          allows={(value) => Number.isInteger(value) && value >= 0}
          onChange={(edge_px) => act({ type: "set-edge", edge_px })}
        />
      </div>
      {others.map((reason) => (
        <div key={reason} className="fact">
          <span>{MASK_REASON_LABELS[reason]}</span>
          <span className="quantity">
            {counted?.byReason[reason]}
            <span className="unit">px</span>
          </span>
        </div>
      ))}
      <MaskFileRow file={mask?.file} />
      <div className="row">
        <NumberBox
          label="Brush radius"
          value={brush}
          unit="px"
          allows={(value) => value > 0 && value <= LARGEST_BRUSH_PX}
          onChange={(brushRadius_px) => show({ brushRadius_px })}
        />
      </div>
      {shapes.length === 0 ? (
        <p className="teach">Draw with the tools above the frame: circle, rectangle, polygon or brush.</p>
      ) : (
        <>
          <div className="list-head">
            <span>Drawn shapes</span>
            <IconButton icon={Trash2} label="Remove all drawn shapes" onClick={() => act({ type: "clear-shapes" })} />
          </div>
          <ol className="shapes">
            {shapes.map((shape, index) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: a shape has no name; its place in the plan is what it is known by
              <li key={index} className={index === selected ? "shape selected" : "shape"}>
                <button
                  type="button"
                  className="shape-name"
                  onClick={() => show({ selectedShape: index, tool: "select" })}
                >
                  {shapeInWords(shape)}
                </button>
                <IconButton
                  icon={X}
                  label={`Remove shape ${index + 1}`}
                  onClick={() => act({ type: "remove-shape", index })}
                />
              </li>
            ))}
          </ol>
        </>
      )}
    </Section>
  );
}

function MaskFileRow({ file }: { readonly file: string | undefined }) {
  const { document, opening } = useApplication();
  return (
    <div className="row">
      <span className="field-label">Mask file</span>
      {file === undefined ? (
        <button type="button" className="text-button" onClick={() => void opening.pickMask()}>
          Choose
        </button>
      ) : (
        <>
          <span className="file-name">{file}</span>
          <IconButton
            icon={X}
            label="Do without the mask file"
            onClick={() => document.getState().act({ type: "set-mask-file", file: undefined })}
          />
        </>
      )}
    </div>
  );
}

function shapeInWords(shape: MaskShape): string {
  const round = (value: number) => Number(value.toFixed(1));
  switch (shape.kind) {
    case "circle":
      return `Circle at ${round(shape.x)}, ${round(shape.y)}, radius ${round(shape.r)} px`;
    case "outside-circle":
      return `Outside ${round(shape.r)} px of ${round(shape.x)}, ${round(shape.y)}`;
    case "rectangle":
      return `Rectangle at ${round(shape.x)}, ${round(shape.y)}, ${round(shape.width)} × ${round(shape.height)} px`;
    case "polygon":
      return `Polygon of ${shape.points.length} corners`;
  }
}

import { type PointerEvent, type ReactElement, useRef } from "react";
import type { MaskShape } from "../../core/plan/plan.ts";
import { followDrag, within } from "../interaction/pointer-drag.ts";
import { useDraft } from "../interaction/use-draft.ts";
import type { ArrayPoint, DragPhase } from "../view-types.ts";
import { Handle, type KeyStep } from "./handle.tsx";
import { describeShape, handlesOf, moved, movesByWholePixels, reshaped } from "./shape-edit.ts";
import { shapePath } from "./shape-path.ts";
import { arrayStep, toArray, toScreen } from "./stage.ts";
import { useStage } from "./stage-context.ts";

const LARGE_STEP = 10; // px

export interface ShapeOverlayProps {
  readonly shape: MaskShape;
  readonly selected: boolean;
  /** False while a tool draws: shapes then let the pointer through. */
  readonly editable: boolean;
  readonly onSelect: () => void;
  readonly onChange: ((shape: MaskShape, phase: DragPhase) => void) | undefined;
  readonly onDelete: (() => void) | undefined;
}

/** A drawn mask shape: a drag moves it; when it is selected, handles reshape it and Delete removes it. */
export function ShapeOverlay(props: ShapeOverlayProps): ReactElement {
  const { shape, selected, editable, onSelect, onChange, onDelete } = props;
  const { stage, now, root } = useStage();
  const [shown, change] = useDraft(shape, onChange);
  // A corner dragged past its opposite changes places with it: reshape what was there when the hand took hold.
  const grabbed = useRef(shape);
  const d = shapePath(shown, stage);
  const grab = (event: PointerEvent<SVGPathElement>): void => {
    if (event.button !== 0 || !editable) return;
    event.stopPropagation();
    onSelect();
    const from = toArray(now(), within(root(), event));
    const original = shown;
    const place = (point: { readonly x: number; readonly y: number }): MaskShape => {
      const to = toArray(now(), point);
      return moved(original, offset(original, from, to));
    };
    let moving = false;
    followDrag(event, root(), {
      move: (point) => {
        moving = true;
        change(place(point), "drag");
      },
      // A click that moved nothing changes nothing: it must not make a step to undo.
      end: (point) => {
        if (moving) change(place(point), "end");
      },
      cancel: () => change(original, "end"),
    });
  };
  const step = ({ dx, dy, large }: KeyStep, phase: DragPhase): void => {
    const by = arrayStep(stage, dx, dy);
    const length = large ? LARGE_STEP : 1;
    change(moved(shown, { x: by.x * length, y: by.y * length }), phase);
  };
  const middle = toScreen(stage, middleOf(shown));
  return (
    <g className={selected ? "frame-shape frame-shape-selected" : "frame-shape"}>
      <path className="frame-halo" d={d} />
      <path className="frame-shape-line" d={d} />
      <path
        className={shown.kind === "outside-circle" ? "frame-shape-reach frame-shape-rim" : "frame-shape-reach"}
        d={d}
        pointerEvents={editable ? undefined : "none"}
        onPointerDown={grab}
      />
      {editable && (
        <>
          <Handle
            at={middle}
            label={`Mask: ${describeShape(shown)}`}
            valueNow={middleOf(shown).x}
            valueText={describeShape(shown)}
            cursor="move"
            reach={selected ? 8 : 0}
            onPress={onSelect}
            onDelete={onDelete}
            onDrag={(point, phase) => {
              const to = toArray(now(), point);
              change(moved(shown, offset(shown, middleOf(shown), to)), phase);
            }}
            onStep={step}
          >
            {selected ? <circle className="frame-handle-dot" r={3} /> : <circle r={0} />}
          </Handle>
          {selected &&
            handlesOf(shown).map((handle, i) => (
              <Handle
                // biome-ignore lint/suspicious/noArrayIndexKey: corners have no identity but their place
                key={i}
                at={toScreen(stage, handle)}
                label={`Mask shape, ${handle.label}`}
                valueNow={handle.x}
                valueText={`x ${handle.x.toFixed(1)}, y ${handle.y.toFixed(1)}`}
                onDelete={onDelete}
                onPress={() => {
                  grabbed.current = shown;
                }}
                onDrag={(point, phase) => change(reshaped(grabbed.current, i, toArray(now(), point)), phase)}
                onStep={({ dx, dy, large }, phase) => {
                  const by = arrayStep(stage, dx, dy);
                  const length = large ? LARGE_STEP : 1;
                  change(reshaped(shown, i, { x: handle.x + by.x * length, y: handle.y + by.y * length }), phase);
                }}
              />
            ))}
        </>
      )}
    </g>
  );
}

function offset(shape: MaskShape, from: ArrayPoint, to: ArrayPoint): ArrayPoint {
  const by = { x: to.x - from.x, y: to.y - from.y };
  return movesByWholePixels(shape) ? { x: Math.round(by.x), y: Math.round(by.y) } : by;
}

function middleOf(shape: MaskShape): ArrayPoint {
  switch (shape.kind) {
    case "circle":
    case "outside-circle":
      return { x: shape.x, y: shape.y };
    case "rectangle":
      return { x: shape.x + (shape.width - 1) / 2, y: shape.y + (shape.height - 1) / 2 };
    case "polygon": {
      let [left, right, bottom, top] = [Infinity, -Infinity, Infinity, -Infinity];
      for (const [x, y] of shape.points) {
        left = Math.min(left, x);
        right = Math.max(right, x);
        bottom = Math.min(bottom, y);
        top = Math.max(top, y);
      }
      return { x: (left + right) / 2, y: (bottom + top) / 2 };
    }
  }
}

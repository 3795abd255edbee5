import { type CSSProperties, type KeyboardEvent, type PointerEvent, type ReactNode, useRef } from "react";
import { SPLIT_LIMITS } from "../state/view-settings.ts";
import { useDocument } from "./application.ts";

/** A key moves the divider by this share. */
const KEY_STEP = 0.02;

/** Frame and curve side by side with one divider: drag it, move it with the arrow keys, double-click for equal halves. */
export function Split({ left, right }: { readonly left: ReactNode; readonly right: ReactNode }) {
  const split = useDocument(({ view }) => view.split);
  const show = useDocument((state) => state.show);
  const area = useRef<HTMLDivElement>(null);
  const [least, most] = SPLIT_LIMITS;
  const set = (share: number) => show({ split: Math.min(most, Math.max(least, share)) });

  const move = (event: PointerEvent<HTMLElement>) => {
    if (!event.currentTarget.hasPointerCapture(event.pointerId) || area.current === null) return;
    const box = area.current.getBoundingClientRect();
    set((event.clientX - box.left) / box.width);
  };
  const press = (event: KeyboardEvent) => {
    const step = event.key === "ArrowLeft" ? -KEY_STEP : event.key === "ArrowRight" ? KEY_STEP : 0;
    if (step !== 0) set(split + step);
    if (event.key === "Home") set(least);
    if (event.key === "End") set(most);
  };

  return (
    <div
      className="split"
      ref={area}
      style={{ "--first-share": `${split}fr`, "--second-share": `${1 - split}fr` } as CSSProperties}
    >
      {left}
      <hr
        className="divider"
        aria-orientation="vertical"
        aria-label="Divider between frame and curve"
        aria-valuenow={Math.round(split * 100)}
        aria-valuemin={least * 100}
        aria-valuemax={most * 100}
        tabIndex={0}
        onPointerDown={(event) => event.currentTarget.setPointerCapture(event.pointerId)}
        onPointerMove={move}
        onDoubleClick={() => show({ split: 0.5 })}
        onKeyDown={press}
      />
      {right}
    </div>
  );
}

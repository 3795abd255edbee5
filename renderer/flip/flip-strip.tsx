import "./flip.css";
import { Slider } from "@base-ui/react/slider";
import { ChevronLeft, ChevronRight, Lock, LockOpen } from "lucide-react";
import { useEffect } from "react";
import { useStore } from "zustand";
import { useApplication, useBeamStop, useDocument, useResults } from "../app/application.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import { useKeys } from "../keys/use-keys.ts";
import type { CountRange } from "../view-types.ts";
import type { FlipRow } from "./flip-places.ts";

const WORDS = { frames: "Frame", runs: "Run" } as const;

/** The rows that can be leafed through, drawn anew whenever one of them may have changed. */
export function useFlipRows(): readonly FlipRow[] {
  const { flip } = useApplication();
  useStore(flip.store, (state) => state.place);
  useDocument(({ history }) => history?.present.plan);
  useDocument(({ view }) => view.sampleIndex);
  useDocument(({ view }) => view.stackFrame);
  useResults((state) => state.runs);
  useBeamStop((state) => state.watched);
  return flip.rows();
}

/** Where nothing has the focus, the arrows to the left and right leaf too. */
function useBareArrows(): void {
  const { flip } = useApplication();
  useEffect(() => {
    const pressed = (event: KeyboardEvent): void => {
      const by = event.key === "ArrowLeft" ? -1 : event.key === "ArrowRight" ? 1 : 0;
      if (by === 0 || event.target !== document.body || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      flip.step(by);
    };
    window.addEventListener("keydown", pressed);
    return () => window.removeEventListener("keydown", pressed);
  }, [flip]);
}

/** Leafing through the frames of a stack and the samples of the plan. Nothing where there is only one. */
export function FlipStrip({ rows, range }: { readonly rows: readonly FlipRow[]; readonly range: CountRange }) {
  const { document: opened } = useApplication();
  useBareArrows();
  const isHeld = useDocument(({ view }) => view.range !== undefined);
  return (
    <section className="flip-strip" aria-label="Frames">
      {rows.map((row, place) => (
        <FlipSlider key={row.axis} row={row} isFirst={place === 0} />
      ))}
      <IconButton
        icon={isHeld ? Lock : LockOpen}
        label="Hold the range of the colours"
        hint={
          isHeld
            ? "The same colours for every frame; press to let each have its own"
            : "The same colours for every frame"
        }
        pressed={isHeld}
        onClick={() => opened.getState().show({ range: isHeld ? undefined : range })}
      />
    </section>
  );
}

function FlipSlider({ row, isFirst }: { readonly row: FlipRow; readonly isFirst: boolean }) {
  const { flip } = useApplication();
  const keysOf = useKeys();
  const word = WORDS[row.axis];
  const least = row.axis === "frames" ? 0 : 1;
  const said = row.at < 0 ? `all ${row.count} together` : `${row.at + 1} of ${row.count}`;
  const keys = (id: string) => (isFirst ? keysOf(id) : undefined);
  return (
    <div className="flip-row">
      <IconButton
        icon={ChevronLeft}
        label={`${word} before`}
        keys={keys("frame-before")}
        disabled={row.at + 1 <= least}
        onClick={() => flip.step(-1, row.axis)}
      />
      <Slider.Root
        className="flip-slider"
        value={row.at + 1}
        min={least}
        max={row.count}
        onValueChange={(value) => flip.go(row, value - 1)}
      >
        <Slider.Control className="flip-control">
          <Slider.Track className="flip-track">
            <Slider.Indicator className="flip-filled" />
            <Slider.Thumb className="flip-thumb" aria-label={word} getAriaValueText={() => said} />
          </Slider.Track>
        </Slider.Control>
      </Slider.Root>
      <IconButton
        icon={ChevronRight}
        label={`${word} after`}
        keys={keys("frame-after")}
        disabled={row.at + 1 >= row.count}
        onClick={() => flip.step(1, row.axis)}
      />
      <span className="flip-words">
        {word} <span className="number">{said}</span>
      </span>
    </div>
  );
}

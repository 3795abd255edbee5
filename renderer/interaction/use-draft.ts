import { useRef, useState } from "react";
import type { DragPhase } from "../view-types.ts";

/**
 * What is being dragged is shown where the hand has it, whatever the owner of the value makes of it and however late.
 * @returns the value to show, and the way to change it (always through the newest `emit`)
 */
export function useDraft<T>(
  value: T,
  emit: ((value: T, phase: DragPhase) => void) | undefined,
): readonly [T, (value: T, phase: DragPhase) => void] {
  const [draft, setDraft] = useState<{ readonly value: T }>();
  const latest = useRef(emit);
  latest.current = emit;
  const change = (next: T, phase: DragPhase): void => {
    setDraft(phase === "drag" ? { value: next } : undefined);
    latest.current?.(next, phase);
  };
  return [draft ? draft.value : value, change];
}

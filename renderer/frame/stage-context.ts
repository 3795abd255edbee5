import { createContext, useContext } from "react";
import type { Stage } from "./stage.ts";

/** What every overlay of the frame shares. */
export interface StageAccess {
  readonly stage: Stage;
  /** The newest stage, for hands that are still dragging when the view changes. */
  now(): Stage;
  /** Upper left corner of screen coordinates. */
  root(): Element;
}

export const StageContext = createContext<StageAccess | undefined>(undefined);

export function useStage(): StageAccess {
  const access = useContext(StageContext);
  if (!access) throw new TypeError("frame overlays stand inside a frame view");
  return access;
}

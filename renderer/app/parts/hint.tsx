import { Tooltip } from "@base-ui/react/tooltip";
import type { ReactElement, ReactNode } from "react";
import { Keys } from "./keys.tsx";

/** A tooltip with the shortcut of what it explains. `children` is the element that it belongs to. */
export function Hint({
  text,
  keys,
  children,
}: {
  readonly text: ReactNode;
  readonly keys?: string | undefined;
  readonly children: ReactElement;
}) {
  return (
    <Tooltip.Root>
      <Tooltip.Trigger render={children} />
      <Tooltip.Portal>
        <Tooltip.Positioner sideOffset={6} className="hint-positioner">
          <Tooltip.Popup className="hint">
            <span>{text}</span>
            <Keys keys={keys} />
          </Tooltip.Popup>
        </Tooltip.Positioner>
      </Tooltip.Portal>
    </Tooltip.Root>
  );
}

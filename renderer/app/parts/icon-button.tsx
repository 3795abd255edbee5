import type { LucideIcon } from "lucide-react";
import type { ReactNode } from "react";
import { Hint } from "./hint.tsx";

/** A square button with an icon; its tooltip says what it does, and with which keys. */
export function IconButton({
  icon: Icon,
  label,
  hint,
  keys,
  onClick,
  disabled,
  pressed,
  children,
}: {
  readonly icon: LucideIcon;
  readonly label: string;
  /** More than the label, for the tooltip. */
  readonly hint?: ReactNode;
  readonly keys?: string | undefined;
  readonly onClick: () => void;
  readonly disabled?: boolean | undefined;
  /** For a button that is a switch. */
  readonly pressed?: boolean | undefined;
  /** Words beside the icon. */
  readonly children?: ReactNode;
}) {
  return (
    <Hint text={hint ?? label} keys={keys}>
      <button
        type="button"
        className={children === undefined ? "icon-button" : "icon-button with-words"}
        aria-label={label}
        aria-pressed={pressed}
        aria-disabled={disabled}
        onClick={() => {
          if (disabled !== true) onClick();
        }}
      >
        <Icon size={16} strokeWidth={1.75} aria-hidden />
        {children}
      </button>
    </Hint>
  );
}

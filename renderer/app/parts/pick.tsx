import { Select } from "@base-ui/react/select";
import { Check, ChevronDown } from "lucide-react";

export interface PickOption<T extends string> {
  readonly value: T;
  readonly label: string;
}

/** One of several words. */
export function Pick<T extends string>({
  label,
  value,
  options,
  onPick,
  disabled = false,
  narrow = false,
}: {
  /** What is chosen, for people who don't see the place of the control. */
  readonly label: string;
  readonly value: T;
  readonly options: readonly PickOption<T>[];
  readonly onPick: (value: T) => void;
  readonly disabled?: boolean;
  /** As wide as its words, for toolbars; else as wide as its place. */
  readonly narrow?: boolean;
}) {
  return (
    <Select.Root<T>
      value={value}
      items={options}
      disabled={disabled}
      onValueChange={(next) => {
        if (next !== null) onPick(next);
      }}
    >
      <Select.Trigger className={narrow ? "pick narrow" : "pick"} aria-label={label} title={narrow ? label : undefined}>
        <Select.Value className="pick-value" />
        <Select.Icon className="pick-arrow">
          <ChevronDown size={14} aria-hidden />
        </Select.Icon>
      </Select.Trigger>
      <Select.Portal>
        <Select.Positioner className="floating-positioner" sideOffset={4} alignItemWithTrigger={false}>
          <Select.Popup className="menu">
            <Select.List>
              {options.map((option) => (
                <Select.Item key={option.value} value={option.value} className="menu-item">
                  <Select.ItemIndicator className="menu-check" keepMounted>
                    <Check size={14} aria-hidden />
                  </Select.ItemIndicator>
                  <Select.ItemText>{option.label}</Select.ItemText>
                </Select.Item>
              ))}
            </Select.List>
          </Select.Popup>
        </Select.Positioner>
      </Select.Portal>
    </Select.Root>
  );
}

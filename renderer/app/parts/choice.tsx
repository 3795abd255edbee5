import { Pick } from "./pick.tsx";

/** A line with a label before one of several words. */
export function Choice<T extends string>(props: Parameters<typeof Pick<T>>[0]) {
  return (
    <div className="row">
      <span className="field-label">{props.label}</span>
      <Pick {...props} />
    </div>
  );
}

import "./fields.css";
import { useState } from "react";
import type { Fault } from "../../core/model/result.ts";
import { missingNumber } from "../state/missing-number.ts";
import { allows } from "../state/shown-metadata.ts";
import { useApplication, useDocument } from "./application.ts";
import { NumberBox } from "./parts/number-box.tsx";

/** The number that a fault asks for, to be typed where the fault is read. Nothing for any other fault. */
export function MissingNumberFields({ fault }: { readonly fault: Fault }) {
  const { document } = useApplication();
  const missing = missingNumber(fault);
  const planned = useDocument(({ history }) =>
    missing === undefined ? undefined : history?.present.plan.metadata?.[missing.scope]?.[missing.field.fileKey],
  );
  const [first, setFirst] = useState<number>();
  if (missing === undefined) return null;
  const { field, scope } = missing;
  const set = (value: number | readonly [number, number]) =>
    document.getState().act({ type: "set-metadata", scope, fileKey: field.fileKey, value });
  const box = { allows: (value: number) => allows(field, value), ...(field.unit === "" ? {} : { unit: field.unit }) };
  if (field.length === 1)
    return (
      <span className="notice-fields">
        <NumberBox
          {...box}
          label={field.label}
          value={typeof planned === "number" ? planned : undefined}
          placeholder="missing"
          onChange={set}
        />
      </span>
    );
  const [x, y] = typeof planned === "object" ? planned : [first, undefined];
  return (
    <span className="notice-fields">
      <NumberBox
        {...box}
        label={`${field.label}, x`}
        value={x}
        placeholder="missing"
        onChange={(value) => (y === undefined ? setFirst(value) : set([value, y]))}
      />
      <NumberBox
        {...box}
        label="y"
        fullLabel={`${field.label}, y`}
        value={y}
        placeholder={x === undefined ? "then y" : "missing"}
        onChange={(value) => set([x ?? value, value])}
      />
    </span>
  );
}

import { Eye, EyeOff, FileWarning, X } from "lucide-react";
import { useApplication } from "../app/application.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import type { LoadedCurve, MissingCurve } from "./curves-store.ts";

/** A curve of a file: its name, its unit, and whether it is drawn. */
export function LoadedRow({ curve }: { readonly curve: LoadedCurve }) {
  const { curves } = useApplication();
  const { key, label, file, title, unit, points, shown, notes } = curve;
  const words = [`${file}: ${title}`, `${points.q.length} points, ${unit}`, ...notes].join("\n");
  return (
    <li className="curves-row">
      <span className="curves-row-name" title={words}>
        {label}
      </span>
      <IconButton
        icon={shown ? Eye : EyeOff}
        label={`Draw ${label}`}
        pressed={shown}
        onClick={() => curves.files.toggle(key)}
      />
      <IconButton icon={X} label={`Take ${label} away`} onClick={() => curves.files.remove(key)} />
    </li>
  );
}

/** A curve whose file is gone: it keeps its place until it is loaded again or taken away. */
export function MissingRow({ curve: { key, label, reason } }: { readonly curve: MissingCurve }) {
  const { curves } = useApplication();
  return (
    <li className="curves-row missing">
      <FileWarning className="run-icon fault" size={14} aria-label="missing" />
      <span className="curves-row-name" title={reason}>
        {label}
      </span>
      <span className="unit">missing</span>
      <IconButton icon={X} label={`Take ${label} away`} onClick={() => curves.files.remove(key)} />
    </li>
  );
}

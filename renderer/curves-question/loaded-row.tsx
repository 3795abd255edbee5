import { Eye, EyeOff, X } from "lucide-react";
import { useApplication } from "../app/application.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import type { LoadedCurve } from "./curves-store.ts";

/** A curve of a file: its name, its unit, and whether it is drawn. */
export function LoadedRow({ curve }: { readonly curve: LoadedCurve }) {
  const { curves } = useApplication();
  const { key, file, title, unit, points, shown, notes } = curve;
  const words = [`${file}: ${title}`, `${points.q.length} points, ${unit}`, ...notes].join("\n");
  return (
    <li className="curves-row">
      <span className="curves-row-name" title={words}>
        {file}
      </span>
      <span className="unit">{unit}</span>
      <IconButton
        icon={shown ? Eye : EyeOff}
        label={`Draw ${file}`}
        pressed={shown}
        onClick={() => curves.toggle(key)}
      />
      <IconButton icon={X} label={`Take ${file} away`} onClick={() => curves.remove(key)} />
    </li>
  );
}

import "./curves-question.css";
import { FolderOpen } from "lucide-react";
import { useApplication, useCurves, useDocument, useResults } from "../app/application.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import { curveChoices } from "./curve-choices.ts";
import { LoadedRow, MissingRow } from "./loaded-row.tsx";
import { LookPart } from "./look-part.tsx";
import { ModelPart } from "./model-part.tsx";
import { TogetherPart } from "./together-part.tsx";

/** Below image and curve while the curves are the question: files beside our own, fits, sums and models. */
export function CurvesStrip() {
  const isShown = useDocument(({ view }) => view.question === "curves");
  if (!isShown) return null;
  return <Parts />;
}

function Parts() {
  const { curves } = useApplication();
  const loaded = useCurves((state) => state.loaded);
  const missing = useCurves((state) => state.missing);
  const reduction = useResults((state) => state.reduction);
  const choices = curveChoices(reduction, { loaded });
  return (
    <section className="curves-strip" aria-label="Curves beside each other">
      <section className="curves-part" aria-label="Curves of files">
        <div className="curves-part-head">
          <h3>Beside it</h3>
          <IconButton
            icon={FolderOpen}
            label="Load curves"
            hint="Curves of canSAS XML, NXcanSAS or text columns, drawn beside this one"
            onClick={() => void curves.files.load()}
          >
            Load
          </IconButton>
        </div>
        {loaded.length + missing.length === 0 ? (
          <p className="curves-hint">
            A reference, or the same sample at another distance: load its curve, or drop it.
          </p>
        ) : (
          <ul className="curves-list">
            {loaded.map((curve) => (
              <LoadedRow key={curve.key} curve={curve} />
            ))}
            {missing.map((curve) => (
              <MissingRow key={curve.key} curve={curve} />
            ))}
          </ul>
        )}
      </section>
      <TogetherPart choices={choices} />
      <LookPart choices={choices} />
      <ModelPart />
    </section>
  );
}

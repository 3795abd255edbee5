import "./second-frame.css";
import { ChevronLeft, ChevronRight, Link2, Link2Off, X } from "lucide-react";
import { useApplication, useDocument, useResults } from "../app/application.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import { Pick } from "../app/parts/pick.tsx";
import { framesIn, type SecondChoice, secondPaths } from "./second-choice.ts";

/** What stands above the second frame: which run and frame it is, and whether it takes the colours of the first. */
export function SecondHead({ choice }: { readonly choice: SecondChoice }) {
  const { document } = useApplication();
  const tree = useDocument(({ history }) => history?.present);
  const runs = useResults((state) => state.runs);
  const isLinked = useDocument(({ view }) => !view.secondOwnRange);
  const { show } = document.getState();
  if (tree === undefined) return null;
  const frames = framesIn(choice.path, runs);
  const at = choice.frame === undefined ? -1 : choice.frame;
  const go = (to: number) => show({ second: { ...choice, frame: to < 0 ? undefined : to } });
  return (
    <header className="half-head">
      <Pick
        label="Second frame"
        value={choice.path}
        options={secondPaths(tree).map((path) => ({ value: path, label: tree.files[path]?.name ?? path }))}
        onPick={(path) => show({ second: { path, frame: undefined } })}
        narrow
      />
      {frames > 1 && (
        <>
          <IconButton
            icon={ChevronLeft}
            label="Second frame: the one before"
            disabled={at < 0}
            onClick={() => go(at - 1)}
          />
          <span className="number half-place">{at < 0 ? `all ${frames}` : `${at + 1} of ${frames}`}</span>
          <IconButton
            icon={ChevronRight}
            label="Second frame: the one after"
            disabled={at >= frames - 1}
            onClick={() => go(at + 1)}
          />
        </>
      )}
      <span className="bar-end" />
      <IconButton
        icon={isLinked ? Link2 : Link2Off}
        label="Same range as the first"
        hint={isLinked ? "Both have the same range of colours" : "Each has its own range of colours"}
        pressed={isLinked}
        onClick={() => show({ secondOwnRange: isLinked })}
      />
      <IconButton icon={X} label="Close the second frame" onClick={() => show({ second: undefined })} />
    </header>
  );
}

/** What stands above the first while there is a second. */
export function FirstHead() {
  const sample = useResults(({ reduction }) => reduction?.sampleFile);
  return (
    <header className="half-head">
      <span className="half-name">{sample}</span>
    </header>
  );
}

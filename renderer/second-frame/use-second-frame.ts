import { useEffect, useState } from "react";
import { describeFault } from "../../core/model/result.ts";
import { useApplication, useDocument } from "../app/application.ts";
import type { ReadFrame } from "../flip/frame-store.ts";
import { type SecondChoice, secondReference } from "./second-choice.ts";

interface Read {
  readonly frame: ReadFrame | undefined;
  /** Why there is none. */
  readonly trouble: string | undefined;
}

/** The counts of the second frame; those of the one before stay on show while the next is read. */
export function useSecondFrame(choice: SecondChoice | undefined): Read | undefined {
  const { frames } = useApplication();
  const tree = useDocument(({ history }) => history?.present);
  const reference = tree === undefined || choice === undefined ? undefined : secondReference(tree, choice);
  const asked = JSON.stringify([reference, choice && tree?.files[choice.path]?.origin]);
  const [read, setRead] = useState<Read>();
  // biome-ignore lint/correctness/useExhaustiveDependencies: what is asked for stands in `asked`; a drag makes new trees
  useEffect(() => {
    if (reference === undefined || choice === undefined || tree === undefined) {
      setRead(undefined);
      return;
    }
    let isWanted = true;
    void frames.read(reference, tree.files).then((answer) => {
      if (!isWanted) return;
      setRead(
        answer.ok
          ? { frame: answer.value, trouble: undefined }
          : { frame: undefined, trouble: describeFault(answer.fault) },
      );
    });
    return () => {
      isWanted = false;
    };
  }, [asked, frames]);
  return choice === undefined ? undefined : read;
}

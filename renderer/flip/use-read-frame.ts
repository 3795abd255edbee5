import { useEffect, useState } from "react";
import { describeFault } from "../../core/model/result.ts";
import type { RunReference } from "../../core/plan/plan.ts";
import { useApplication, useDocument } from "../app/application.ts";
import { referencePath } from "../state/plan-reading.ts";
import type { ReadFrame } from "./frame-store.ts";

export interface Read {
  readonly frame: ReadFrame | undefined;
  /** Why there is none. */
  readonly trouble: string | undefined;
}

/** The counts of a run, without any plan; those of the one before stay on show while the next is read. */
export function useReadFrame(reference: RunReference | undefined): Read | undefined {
  const { frames } = useApplication();
  const files = useDocument(({ history }) => history?.present.files);
  const asked = JSON.stringify([reference, reference && files?.[referencePath(reference)]?.origin]);
  const [read, setRead] = useState<Read>();
  // biome-ignore lint/correctness/useExhaustiveDependencies: what is asked for stands in `asked`; a drag makes new trees
  useEffect(() => {
    if (reference === undefined || files === undefined) {
      setRead(undefined);
      return;
    }
    let isWanted = true;
    void frames.read(reference, files).then((answer) => {
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
  return reference === undefined ? undefined : read;
}

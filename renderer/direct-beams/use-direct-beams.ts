import { useEffect, useState } from "react";
import type { Fault } from "../../core/model/result.ts";
import { useApplication, useDocument } from "../app/application.ts";
import { referencePath } from "../state/plan-reading.ts";
import { BEAM_ROLES, type DirectBeamView } from "../worker/direct-beam-view.ts";

export interface DirectBeams {
  /** Undefined while they are being read. */
  readonly beams: readonly DirectBeamView[] | undefined;
  readonly fault: Fault | undefined;
}

const NOTHING: DirectBeams = { beams: undefined, fault: undefined };

/** The direct-beam runs of the plan. They are read anew when another file, or another number of one, comes in. */
export function useDirectBeams(): DirectBeams {
  const { document, client, delivery } = useApplication();
  const [found, setFound] = useState(NOTHING);
  // A text, so that a change of anything else in the document asks for nothing.
  const ground = useDocument(({ history }) => {
    if (history === undefined) return "";
    const { plan, files } = history.present;
    const references = BEAM_ROLES.map((role) => plan.runs[role]);
    const origins = references.map((reference) => reference && files[referencePath(reference)]?.origin);
    return JSON.stringify([references, origins, plan.metadata]);
  });
  useEffect(() => {
    const { history } = document.getState();
    if (ground === "" || history === undefined) return setFound(NOTHING);
    const { plan, files } = history.present;
    let isWanted = true;
    const ask = async () => {
      for (const role of BEAM_ROLES) {
        const reference = plan.runs[role];
        const file = reference === undefined ? undefined : files[referencePath(reference)];
        // A file that can't be had is left to the worker, whose fault then says so of this run alone.
        if (file !== undefined) await delivery.deliver(file);
      }
      const answer = await client.ask("direct-beams", { plan }, { slot: "direct-beams" });
      if (!isWanted) return;
      if (answer.ok) setFound({ beams: answer.value.beams, fault: undefined });
      else if (answer.fault.code !== "cancelled") setFound({ beams: undefined, fault: answer.fault });
    };
    void ask();
    return () => {
      isWanted = false;
    };
  }, [ground, document, client, delivery]);
  return found;
}

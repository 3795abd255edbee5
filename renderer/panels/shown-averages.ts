import type { ViewSettings } from "../state/view-settings.ts";
import type { FollowView, ReductionView } from "../worker/protocol.ts";

/** The averages that a question looks at: profiles for anisotropy, curves for the others; without the hidden ones. */
export function shownAverages(results: ReductionView | FollowView | undefined, view: ViewSettings) {
  if (results === undefined) return [];
  const all = view.question === "anisotropy" ? results.profiles : results.curves;
  return all.filter(({ id }) => !view.hidden.includes(id));
}

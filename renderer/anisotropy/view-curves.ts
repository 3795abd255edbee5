import type { PlottedCurve } from "../view-types.ts";
import type { AnisotropyView } from "../worker/anisotropy-view.ts";

/** The fitted harmonics of the profiles on show, in the colours of their points. */
export function fitLines(
  answer: Pick<AnisotropyView, "annuli"> | undefined,
  profiles: readonly PlottedCurve[],
): readonly PlottedCurve[] {
  return profiles.flatMap(({ key, colourIndex }): PlottedCurve[] => {
    const line = answer?.annuli.find(({ id }) => id === key)?.line;
    if (line === undefined) return [];
    return [
      { key: `${key} fit`, label: "even harmonics", data: line, colourIndex: (colourIndex ?? 0) + 1, line: true },
    ];
  });
}

/** The curves in the sectors along and across the axis. */
export function sectorCurves(answer: Pick<AnisotropyView, "sectors"> | undefined): readonly PlottedCurve[] {
  if (answer?.sectors === undefined) return [];
  const { along, across } = answer.sectors;
  return [
    { key: "along the axis", label: "along the axis", data: along, colourIndex: 0 },
    { key: "across the axis", label: "across the axis", data: across, colourIndex: 1 },
  ];
}

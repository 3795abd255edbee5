import type { Hdf5Dataset } from "../hdf5/hdf5-file.ts";
import { groupsBelow, hasClass, type TreeGroup } from "./tree.ts";

/** A list of single neutrons and the bank whose pixels they hit. */
export interface EventList {
  readonly group: TreeGroup;
  readonly detector: TreeGroup | undefined;
}

/**
 * The lists of events of an entry, each with its detector: the one that holds the list or links to it, else the one whose
 * name the list's begins or ends with, else the only one that numbers its pixels. Several such detectors may share a
 * list: then each is a bank of its own. A monitor's events are no bank's.
 */
export function eventLists(entry: TreeGroup): readonly EventList[] {
  const detectors = groupsBelow(entry, hasClass("NXdetector"));
  const numbered = detectors.filter((detector) => pixelNumbers(detector) !== undefined);
  const monitors = groupsBelow(entry, hasClass("NXmonitor"));
  const lists: EventList[] = [];
  for (const group of groupsBelow(entry, hasClass("NXevent_data"))) {
    if (monitors.some((monitor) => holdsGroup(monitor, group))) continue;
    const owners = detectors.filter((detector) => holdsGroup(detector, group));
    const named = detectors.filter(({ name }) => group.name === `${name}_events` || group.name === `events_${name}`);
    const found = [owners, named, numbered].find((candidates) => candidates.length > 0) ?? [undefined];
    for (const detector of found) lists.push({ group, detector });
  }
  return lists;
}

/** True where `group` is the detector itself or lies below it, under whichever name. */
function holdsGroup(detector: TreeGroup, group: TreeGroup): boolean {
  return groupsBelow(detector, ({ address }) => address === group.address).length > 0;
}

/** The field that gives the number of each pixel: what event ids refer to (NeXus definitions NXdetector, NXevent_data). */
export function pixelNumbers(detector: TreeGroup | undefined): Hdf5Dataset | undefined {
  return detector?.datasets.get("detector_number");
}

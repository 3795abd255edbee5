import type { MetadataCollector } from "./collect.ts";
import { type Field, numberField, textField, type Wanted } from "./fields.ts";
import { groupsBelow, hasClass, type Tree, type TreeGroup } from "./tree.ts";

const LENGTH: Wanted = { kind: "length", range: "positive" };

/**
 * Source and sample aperture from NXaperture, NXpinhole and NXslit. Which is which comes from the group's name or
 * description; where those don't tell, from the distances: the one further from the sample is the source's. An aperture
 * that neither tells apart is shown and not taken.
 */
export function collectApertures(tree: Tree, entry: TreeGroup, out: MetadataCollector): void {
  const apertures = groupsBelow(entry, hasClass("NXaperture", "NXpinhole", "NXslit")).flatMap((group) => {
    const opening = openingOf(tree, group);
    return opening === undefined ? [] : [{ group, opening, role: roleOf(tree, group) }];
  });
  const unnamed = apertures.filter(({ role }) => role === undefined);
  const away = (group: TreeGroup): number => Math.abs(numberField(tree, group, "distance")?.values[0] ?? Number.NaN);
  for (const { group, opening, role } of apertures) {
    if (role !== undefined) out.offer(role, opening, LENGTH);
    else if (apertures.length === 2 && unnamed.length === 2) {
      const other = unnamed.find((aperture) => aperture.group !== group)!.group;
      if (away(group) > away(other))
        out.offer("sourceAperture", opening, LENGTH, { guessed: true, note: "the aperture further from the sample" });
      else if (away(group) < away(other))
        out.offer("sampleAperture", opening, LENGTH, { guessed: true, note: "the aperture nearer to the sample" });
      else showUnnamed(opening, out);
    } else showUnnamed(opening, out);
  }
}

function showUnnamed(opening: Field, out: MetadataCollector): void {
  const note = "an aperture that nothing calls the source's or the sample's: not taken";
  out.show("sourceAperture", { value: opening.values[0]!, from: opening.path, asWritten: opening.asWritten, note });
}

function roleOf(tree: Tree, group: TreeGroup): "sourceAperture" | "sampleAperture" | undefined {
  const words = [group.name, textField(tree, group, "description")?.value, textField(tree, group, "name")?.value].join(
    " ",
  );
  if (/sample/i.test(words)) return "sampleAperture";
  return /source|entrance|guide/i.test(words) ? "sourceAperture" : undefined;
}

/** The opening itself, or the size of the shape that describes it. */
function openingOf(tree: Tree, group: TreeGroup): Field | undefined {
  for (const name of ["diameter", "size", "x_gap"]) {
    const field = numberField(tree, group, name);
    if (field !== undefined) return field;
  }
  for (const shape of groupsBelow(group, hasClass("NXshape"))) {
    const size = numberField(tree, shape, "size");
    if (size !== undefined) return size;
  }
  return undefined;
}

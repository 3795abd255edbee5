import { GeoTIFF } from "geotiff";
import type { PixelArray, Run } from "../../model/frame.ts";
import { failure, type Result, success } from "../../model/result.ts";
import { PackedDataError } from "../inflate.ts";
import { plainRun } from "../plain-run.ts";
import type { ByteSource, FormatReader, ReadChoice } from "../reader.ts";
import { announcePage, registerDecoders } from "./decoders.ts";
import { readStructure, TAG, type TiffStructure } from "./directory.ts";
import { pageOf, type TiffPage } from "./page.ts";

type Alternatives = Run["alternatives"];

/** TIFF 6.0 and BigTIFF with one value a pixel; pages of one size and type are a stack. */
export const tiffReader: FormatReader = {
  id: "tiff",
  title: "TIFF",
  choices: [],
  sniff(head) {
    const order =
      head[0] === 0x49 && head[1] === 0x49 ? "little" : head[0] === 0x4d && head[1] === 0x4d ? "big" : undefined;
    if (order === undefined) return "no";
    const magic = order === "little" ? head[2]! + 256 * head[3]! : 256 * head[2]! + head[3]!;
    return magic === 42 || magic === 43 ? "yes" : "no";
  },
  async open(source, context) {
    const structure = await readStructure(source);
    return structure.ok ? openPages(source, structure.value, context.choice) : structure;
  },
};

async function openPages(source: ByteSource, structure: TiffStructure, choice: ReadChoice): Promise<Result<Run>> {
  const notes: string[] = [];
  const pages: TiffPage[] = [];
  let firstFault: Result<never> | undefined;
  for (const [index, directory] of structure.directories.entries()) {
    const page = pageOf(source, directory, index, structure.littleEndian);
    if (page.ok && page.value.isReduced) notes.push(`page ${index} is a reduced copy and is skipped`);
    else if (page.ok) pages.push(page.value);
    else {
      firstFault ??= page;
      notes.push(`left out: ${page.fault.message}`);
    }
  }
  const first = pages[0];
  if (first === undefined)
    return firstFault ?? failure("missing", `${source.name} holds no page with counts`, { file: source.name });
  const stack = pages.filter((page) => isLike(page, first));
  if (stack.length < pages.length)
    notes.push(`${pages.length - stack.length} pages of another size or type than the first are left out`);
  const placed = placement(first.orientation);
  notes.push(...placed.notes);
  registerDecoders();
  const tiff = await libraryOn(source);
  return success(
    plainRun({
      name: source.name,
      format: "tiff",
      formatTitle: structure.isBig ? "BigTIFF" : "TIFF",
      bankName: stack.length > 1 ? "pages" : "page",
      path: stack.length > 1 ? `pages ${stack[0]!.index} to ${stack.at(-1)!.index}` : `page ${first.index}`,
      width: first.width,
      height: first.height,
      frames: stack.length,
      counting: first.format !== "float",
      rowOrder: placed.rowOrder,
      transpose: placed.transpose,
      choice,
      alternatives: proposedPixelSize(first),
      notes: [...notes, "TIFF files carry no wavelength, distance, time or monitor", ...descriptionNotes(first)],
      warnings: first.warnings,
      readPixels: (index) => readPage(tiff, stack[index]!, source.name),
    }),
  );
}

function isLike(page: TiffPage, first: TiffPage): boolean {
  return (
    page.width === first.width &&
    page.height === first.height &&
    page.bits === first.bits &&
    page.format === first.format
  );
}

/** The library over our own source; it parses the pages again, all of whose offsets and counts were checked. */
function libraryOn(source: ByteSource): Promise<GeoTIFF> {
  const fetchSlice = async ({ offset, length }: { offset: number; length: number }) => ({
    offset,
    length,
    data: (await source.read(offset, Math.min(offset + length, source.size))).buffer as ArrayBufferLike,
  });
  return GeoTIFF.fromSource({
    fetchSlice,
    fetch: async (slices) => Promise.all(slices.map(async (slice) => (await fetchSlice(slice)).data)),
    get fileSize() {
      return source.size;
    },
    close: async () => undefined,
  });
}

async function readPage(tiff: GeoTIFF, page: TiffPage, file: string): Promise<Result<PixelArray>> {
  const place = { file, field: `page ${page.index}` };
  try {
    const image = await tiff.getImage(page.index);
    announcePage(image.fileDirectory, page);
    const values = await image.readRasters({ samples: [0], interleave: true });
    if (values.length !== page.width * page.height)
      return failure(
        "unreadable",
        `${file}, page ${page.index}: ${values.length} pixels came out of ${page.width} x ${page.height}`,
        place,
      );
    return success(values as PixelArray);
  } catch (error) {
    // The library throws plain errors on damage; ours say more. Neither is a reason to stop the program.
    if (error instanceof PackedDataError || error instanceof RangeError || error instanceof Error)
      return failure("unreadable", `${file}, page ${page.index} is damaged: ${error.message}`, place);
    throw error;
  }
}

interface Placement {
  readonly rowOrder: "bottom-up" | "top-down";
  readonly transpose: boolean;
  readonly notes: readonly string[];
}

/** Orientation of TIFF 6.0, section 8: which corner and direction the first row has. Mirrored columns are told, not shown. */
function placement(orientation: number): Placement {
  const transpose = orientation >= 5 && orientation <= 8;
  const isBottomUp = orientation === 3 || orientation === 4 || orientation === 7 || orientation === 8;
  const isMirrored = orientation === 2 || orientation === 3 || orientation === 6 || orientation === 7;
  return {
    rowOrder: isBottomUp ? "bottom-up" : "top-down",
    transpose,
    notes: isMirrored
      ? [
          `orientation ${orientation}: the picture runs from right to left; columns are kept as stored, so x points to the left`,
        ]
      : [],
  };
}

/** Resolution as a pixel size: only shown, since 72 a inch is what many programs write without meaning it. */
function proposedPixelSize(page: TiffPage): Alternatives {
  const { tags } = page.directory;
  const unit = { 2: 0.0254, 3: 0.01 }[tags.get(TAG.resolutionUnit)?.[0] ?? 2];
  const [x, y] = [tags.get(TAG.xResolution)?.[0], tags.get(TAG.yResolution)?.[0]];
  if (unit === undefined || x === undefined || y === undefined || !(x > 0 && y > 0)) return {};
  const value = [unit / x, unit / y] as const;
  return { pixelSize: [{ value, from: "XResolution, YResolution", note: "the resolution for print; not taken" }] };
}

const LONGEST_NOTE = 500;

function descriptionNotes(page: TiffPage): string[] {
  const { description, dateTime } = page.directory;
  const notes = dateTime === undefined ? [] : [`date and time in the file: ${dateTime}`];
  if (description === undefined || description === "") return notes;
  const shown = description.length > LONGEST_NOTE ? `${description.slice(0, LONGEST_NOTE)}...` : description;
  return [...notes, `description in the file, unconfirmed: ${shown}`];
}

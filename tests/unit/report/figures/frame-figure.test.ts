import { unzlibSync } from "fflate";
import { describe, expect, it } from "vitest";
import { qOfPosition } from "../../../../core/geometry/maps.ts";
import { pixelPosition } from "../../../../core/geometry/pixel-position.ts";
import type { Orientation } from "../../../../core/model/frame.ts";
import { colourScaleFor, colourStep } from "../../../../core/report/figures/colour-scale.ts";
import { frameFigure } from "../../../../core/report/figures/frame-figure.ts";
import { frameImage } from "../../../../core/report/figures/frame-image.ts";
import { pictureCoordinates, pictureOf } from "../../../../core/report/figures/picture.ts";
import { qRings } from "../../../../core/report/figures/q-rings.ts";
import { decodePng } from "../../../support/decode-png.ts";
import { aReduction } from "../../../support/reduction-builder.ts";
import { svgElements, svgTexts } from "../../../support/svg-shapes.ts";

/** Three columns, two rows: row 0 holds 1 2 3, row 1 holds 4 5 6. */
const VALUES = Float64Array.of(1, 2, 3, 4, 5, 6);
const SIZE = { width: 3, height: 2 };

/** The picture's values, line by line from the top, read off its colours. */
function shownValues(orientation: Orientation): number[][] {
  const picture = pictureOf(SIZE, orientation);
  const colours = { scale: "linear", low: 0, high: 7 } as const;
  const { png } = frameImage(VALUES, new Uint16Array(6), { picture, colours });
  const { width, height, rgba } = decodePng(png, unzlibSync);
  const known = new Map<string, number>();
  for (const value of VALUES) {
    const alone = frameImage([value], new Uint16Array(1), {
      picture: pictureOf({ width: 1, height: 1 }, orientation),
      colours,
    });
    known.set(decodePng(alone.png, unzlibSync).rgba.join(), value);
  }
  return Array.from({ length: height }, (_, y) =>
    Array.from(
      { length: width },
      (_, x) => known.get(rgba.slice(4 * (y * width + x), 4 * (y * width + x) + 4).join())!,
    ),
  );
}

describe("the picture of a frame", () => {
  it("has y up where the rows run from the bottom", () => {
    expect(shownValues({ rowOrder: "bottom-up", transpose: false })).toEqual([
      [4, 5, 6],
      [1, 2, 3],
    ]);
  });

  it("has row 0 on top where the format says so", () => {
    expect(shownValues({ rowOrder: "top-down", transpose: false })).toEqual([
      [1, 2, 3],
      [4, 5, 6],
    ]);
  });

  it("has stored rows along x where it is transposed", () => {
    expect(shownValues({ rowOrder: "bottom-up", transpose: true })).toEqual([
      [3, 6],
      [2, 5],
      [1, 4],
    ]);
  });

  it("puts a point where its pixel is drawn", () => {
    for (const rowOrder of ["bottom-up", "top-down"] as const) {
      for (const transpose of [false, true]) {
        const orientation = { rowOrder, transpose };
        const shown = shownValues(orientation);
        VALUES.forEach((value, p) => {
          const place = pictureCoordinates(pictureOf(SIZE, orientation), { x: p % 3, y: Math.floor(p / 3) });
          expect(shown[Math.floor(place.down)]![Math.floor(place.across)]).toBe(value);
        });
      }
    }
  });

  it("shows masked pixels and those without a logarithm as such", () => {
    const picture = pictureOf(SIZE, { rowOrder: "top-down", transpose: false });
    const values = Float64Array.of(0, -1, 3, 4, Number.NaN, 6);
    const mask = Uint16Array.of(0, 0, 0, 0, 0, 1);
    const image = frameImage(values, mask, { picture, colours: { scale: "log", low: 1, high: 10 } });
    expect(image).toMatchObject({ masked: 1, uncoloured: 3 });
    const { rgba } = decodePng(image.png, unzlibSync);
    expect([...rgba.slice(0, 4)]).toEqual([255, 255, 255, 255]);
    expect([...rgba.slice(20, 24)]).toEqual([0xc9, 0xc4, 0xb8, 255]);
  });
});

describe("the colour scale", () => {
  it("spans the used pixels and puts equal ratios into equal steps", () => {
    const scale = colourScaleFor([1, 10, 100, 1e9, 0], Uint16Array.of(0, 0, 0, 4, 0), "log")!;
    expect(scale).toEqual({ scale: "log", low: 1, high: 100 });
    expect(colourStep(scale, 10)).toBe(128);
    expect(colourStep(scale, 100)).toBe(255);
    expect(colourStep(scale, 0)).toBeUndefined();
  });

  it("is there for one value, and absent for none", () => {
    expect(colourScaleFor([5, 5], new Uint16Array(2), "log")).toEqual({ scale: "log", low: 2.5, high: 10 });
    expect(colourScaleFor([0, 0], new Uint16Array(2), "log")).toBeUndefined();
  });
});

describe("rings of equal Q", () => {
  it.each([
    [0, 0],
    [0.3, -0.2],
  ])("lie at their Q on a bank tilted by %f and %f rad", (...tilt) => {
    const geometry = { ...aReduction().geometry, tilt };
    const rings = qRings(geometry);
    expect(rings.length).toBeGreaterThan(1);
    for (const { q, points } of rings) {
      for (const { x, y } of points) {
        expect(qOfPosition(pixelPosition(geometry, x, y), geometry.wavelength)).toBeCloseTo(q, 9);
      }
    }
  });
});

describe("frame figures", () => {
  const { title, frame, maps, geometry, beamStop } = aReduction();
  const options = {
    title,
    values: frame.counts,
    mask: maps.mask,
    quantity: { label: "Counts", unit: "" },
    scale: "log",
    geometry,
    ...(beamStop && { outline: beamStop }),
    notes: ["Not applied: flood"],
  } as const;

  it("show pixels as an image, a colour scale, rings with values, keys and notes", () => {
    const svg = frameFigure(options);
    const elements = svgElements(svg);
    const images = elements.filter(({ name }) => name === "image");
    expect(images).toHaveLength(2);
    const href = images[0]!.attributes.href!;
    const png = decodePng(Buffer.from(href.replace("data:image/png;base64,", ""), "base64"), unzlibSync);
    expect([png.width, png.height]).toEqual([geometry.width, geometry.height]);
    expect(images[0]!.attributes.style).toBe("image-rendering:pixelated");
    expect(svgTexts(svg)).toEqual(
      expect.arrayContaining([
        "Counts",
        "Column (px)",
        "Row (px)",
        "masked",
        "0 or below",
        "Not applied: flood",
        "0.01 1/Å",
      ]),
    );
  });

  it("keep pixels in the proportions of the bank", () => {
    const wide = frameFigure({ ...options, geometry: { ...geometry, pixelSizeX: 0.01 } });
    const { width, height } = svgElements(wide).find(({ name }) => name === "image")!.attributes;
    expect(Number(width) / Number(height)).toBeCloseTo((2 * geometry.width) / geometry.height, 1);
  });

  it("draw a frame in which nothing can be shown", () => {
    const svg = frameFigure({ ...options, values: new Float64Array(frame.counts.length) });
    expect(svgTexts(svg)).toContain("0 or below");
    expect(svgElements(svg).filter(({ name }) => name === "image")).toHaveLength(1);
  });
});

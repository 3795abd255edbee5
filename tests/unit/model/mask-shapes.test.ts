import { describe, expect, it } from "vitest";
import { MASK_REASONS } from "../../../core/model/mask.ts";
import { edgeMask, shapeMask } from "../../../core/model/mask-shapes.ts";

function columns(mask: Uint16Array, width: number, row: number): number[] {
  return [...mask.subarray(row * width, (row + 1) * width)].flatMap((bits, x) => (bits === 0 ? [] : [x]));
}

describe("a circle", () => {
  it("masks the pixel centres at a distance of r and less", () => {
    const mask = shapeMask([{ kind: "circle", x: 4, y: 3, r: 2 }], 9, 7);
    // By hand: 2 from the centre along the axes, and (1, 1) at 1.41; (2, 1) at 2.24 is out.
    expect(columns(mask, 9, 1)).toEqual([4]);
    expect(columns(mask, 9, 2)).toEqual([3, 4, 5]);
    expect(columns(mask, 9, 3)).toEqual([2, 3, 4, 5, 6]);
    expect(mask[3 * 9 + 4]).toBe(MASK_REASONS.shape);
  });

  it("and the outside of the same circle make up the frame without overlap", () => {
    const inside = shapeMask([{ kind: "circle", x: 3.3, y: 2.7, r: 2.5 }], 9, 7);
    const outside = shapeMask([{ kind: "outside-circle", x: 3.3, y: 2.7, r: 2.5 }], 9, 7);
    for (let p = 0; p < 63; p++) expect((inside[p]! === 0) !== (outside[p]! === 0)).toBe(true);
  });

  it("is cut at the frame and leaves nothing outside it", () => {
    const mask = shapeMask([{ kind: "circle", x: 0, y: 0, r: 1.5 }], 4, 3);
    expect([0, 1, 2].map((row) => columns(mask, 4, row))).toEqual([[0, 1], [0, 1], []]);
    expect(shapeMask([{ kind: "circle", x: -50, y: 900, r: 5 }], 4, 3).every((bits) => bits === 0)).toBe(true);
  });
});

describe("a rectangle", () => {
  it("holds x <= column < x + width, y <= row < y + height", () => {
    const mask = shapeMask([{ kind: "rectangle", x: 1, y: 0.5, width: 2, height: 2 }], 5, 4);
    expect([0, 1, 2, 3].map((row) => columns(mask, 5, row))).toEqual([[], [1, 2], [1, 2], []]);
  });
});

describe("a polygon", () => {
  it("with the corners of a rectangle masks the same pixels as the rectangle", () => {
    const corners = [
      [0, 0],
      [5, 0],
      [5, 5],
      [0, 5],
    ] as const;
    expect(shapeMask([{ kind: "polygon", points: corners }], 8, 8)).toEqual(
      shapeMask([{ kind: "rectangle", x: 0, y: 0, width: 5, height: 5 }], 8, 8),
    );
  });

  it("follows the even-odd rule: a ring drawn as one line that crosses itself has a hole", () => {
    const points = [
      [0, 0],
      [7, 0],
      [7, 7],
      [0, 7],
      [0, 0],
      [2, 2],
      [5, 2],
      [5, 5],
      [2, 5],
      [2, 2],
    ] as const;
    const mask = shapeMask([{ kind: "polygon", points }], 8, 8);
    expect(columns(mask, 8, 3)).toEqual([0, 1, 5, 6]);
  });

  it("shares no pixel with a neighbour along a common edge, and leaves none out", () => {
    const left = shapeMask(
      [
        {
          kind: "polygon",
          points: [
            [0, 0],
            [6, 0],
            [0, 6],
          ],
        },
      ],
      6,
      6,
    ); // prettier-ignore
    const right = shapeMask(
      [
        {
          kind: "polygon",
          points: [
            [6, 0],
            [6, 6],
            [0, 6],
          ],
        },
      ],
      6,
      6,
    ); // prettier-ignore
    for (let p = 0; p < 36; p++) expect((left[p]! === 0) !== (right[p]! === 0)).toBe(true);
  });

  it("with fewer than three points masks nothing", () => {
    expect(
      shapeMask(
        [
          {
            kind: "polygon",
            points: [
              [1, 1],
              [3, 3],
            ],
          },
        ],
        5,
        5,
      ).every((bits) => bits === 0),
    ).toBe(true); // prettier-ignore
  });
});

it("refuses a shape with a number that is not finite", () => {
  expect(() => shapeMask([{ kind: "circle", x: Number.NaN, y: 0, r: 2 }], 4, 4)).toThrow(RangeError);
});

it("masks as many pixels at the edge as the rim has", () => {
  const mask = edgeMask(10, 8, 2);
  expect(mask.filter((bits) => bits === MASK_REASONS.edge).length).toBe(10 * 8 - 6 * 4);
  expect(edgeMask(10, 8, 0).every((bits) => bits === 0)).toBe(true);
});

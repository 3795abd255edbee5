import { unzlibSync } from "fflate";
import { expect, it } from "vitest";
import { beamFigure } from "../../../core/report/beam-figure.ts";
import { decodePng } from "../../support/decode-png.ts";
import { aReduction } from "../../support/reduction-builder.ts";
import { svgElements, svgTexts } from "../../support/svg-shapes.ts";

it("a direct beam is drawn around its circle, at the frame's own columns and rows", () => {
  const { frame, geometry } = aReduction();
  const circle = { x: 25.3, y: 20.1, radius: 4 };
  const { name, caption, svg } = beamFigure({ role: "emptyBeam", file: "direct.h5", frame, geometry, circle });
  expect(name).toBe("beam-emptyBeam");
  expect(caption).toContain("empty beam");
  const image = svgElements(svg).find((element) => element.name === "image");
  const png = decodePng(
    Buffer.from(image!.attributes.href!.replace("data:image/png;base64,", ""), "base64"),
    unzlibSync,
  );
  // Columns 17 to 34 hold 25.3 -+ 8, rows 12 to 29 hold 20.1 -+ 8.
  expect([png.width, png.height]).toEqual([18, 18]);
  expect(svgTexts(svg)).toEqual(expect.arrayContaining(["20", "25", "30", "15"]));
  expect(svgTexts(svg)).not.toContain("0");
});

it("a beam at the frame's edge is drawn as far as the frame goes", () => {
  const { frame, geometry } = aReduction();
  const circle = { x: 1, y: geometry.height + 1, radius: 2 };
  const { svg } = beamFigure({ role: "sampleTransmission", file: "direct.h5", frame, geometry, circle });
  expect(svg).toContain("<image");
  expect(svg).not.toContain("NaN");
});

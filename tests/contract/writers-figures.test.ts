import { unzlibSync } from "fflate";
import { beforeAll, describe, expect, it } from "vitest";
import type { OutputKind } from "../../core/plan/plan.ts";
import { OUTPUT_KINDS } from "../../core/plan/plan.ts";
import { buildOutputs } from "../../core/report/outputs.ts";
import { rasterise } from "../../electron/services/rasterise.ts";
import { writeHdf5 } from "../../electron/services/write-hdf5.ts";
import { decodePng } from "../support/decode-png.ts";
import { aReduction } from "../support/reduction-builder.ts";
import { svgElements, svgTexts } from "../support/svg-shapes.ts";

async function filesOf(kinds: readonly OutputKind[], reduction = aReduction()): Promise<Map<string, Uint8Array>> {
  const built = await buildOutputs(reduction, kinds, { rasterise, writeHdf5 }, new AbortController().signal);
  if (!built.ok) throw new Error(built.fault.message);
  return new Map(built.value.map(({ path, bytes }) => [path, bytes]));
}
/** All that is drawn, made once: rasterising takes a good part of a second on a busy machine. */
let drawn: Map<string, Uint8Array>;
beforeAll(async () => {
  drawn = await filesOf(["figures", "report"]);
}, 60_000);

const textOf = (bytes: Uint8Array | undefined) => new TextDecoder().decode(bytes);

describe("figures as files", () => {
  it("come as SVG and PNG, one an average, one of all curves, two of the frame", () => {
    const names = [...drawn.keys()].filter((path) => path.startsWith("figures/"));
    expect(names.sort()).toEqual(
      ["curve-flow", "curve-radial", "curves", "frame", "intensity", "profile-ring"].flatMap((name) => [
        `figures/${name}.png`,
        `figures/${name}.svg`,
      ]),
    );
  });

  it("say on their face what was not applied", () => {
    expect(svgTexts(textOf(drawn.get("figures/curve-radial.svg")))).toContain(
      "Not applied: detector sensitivity (flood)",
    );
    expect(svgTexts(textOf(drawn.get("figures/frame.svg")))).toContain(
      "Run: rods.h5. Counts as registered: no correction",
    );
  });

  it("have text in the PNG, at 360 pixels an inch of a printed column", async () => {
    const svg = textOf(drawn.get("figures/curve-radial.svg"));
    const image = decodePng(drawn.get("figures/curve-radial.png")!, unzlibSync);
    expect(image.width).toBe(5 * 241);
    const bare = decodePng(await rasterise(svg.replace(/<text[\s\S]*?<\/text>/g, ""), 5), unzlibSync);
    let changed = 0;
    for (let i = 0; i < image.rgba.length; i += 4) if (image.rgba[i] !== bare.rgba[i]) changed++;
    // Some 60 characters of 9 pt; each inks well over 60 pixels of its box of some 20 x 30.
    expect(changed).toBeGreaterThan(60 * 60);
    expect(image.rgba[3]).toBe(255);
    // PNG (third edition), 11.3.4.3: pHYs holds pixels a metre, across and down, then 1 for the metre; before IDAT.
    const png = Buffer.from(drawn.get("figures/curve-radial.png")!);
    const at = png.indexOf("pHYs");
    expect(at).toBeLessThan(png.indexOf("IDAT"));
    expect([png.readUInt32BE(at + 4), png.readUInt32BE(at + 8), png[at + 12]]).toEqual([14173, 14173, 1]);
    // 241 points are the 85 mm of a column.
    expect((1000 * image.width) / png.readUInt32BE(at + 4)).toBeCloseTo(85, 0);
  });

  it("draw frame pixels without smoothing", async () => {
    const svg = textOf(drawn.get("figures/frame.svg"));
    const href = svgElements(svg).find(({ name }) => name === "image")!.attributes.href!;
    const alone = `<svg xmlns="http://www.w3.org/2000/svg" width="96" height="80" viewBox="0 0 96 80"><image width="96" height="80" style="image-rendering:pixelated" href="${href}"/></svg>`;
    const frame = decodePng(Buffer.from(href.split(",")[1]!, "base64"), unzlibSync);
    const shown = decodePng(await rasterise(alone, 1), unzlibSync);
    // Two by two pixels each: all four must have the colour of their frame pixel.
    let different = 0;
    for (let y = 0; y < shown.height; y++) {
      for (let x = 0; x < shown.width; x++) {
        const from = 4 * ((y >> 1) * frame.width + (x >> 1));
        const to = 4 * (y * shown.width + x);
        if (shown.rgba[to] !== frame.rgba[from] || shown.rgba[to + 2] !== frame.rgba[from + 2]) different++;
      }
    }
    expect(different).toBe(0);
  });
});

describe("the report", () => {
  it("is one page without script or any reference outside itself", () => {
    const html = textOf(drawn.get("report.html"));
    expect(html.startsWith("<!DOCTYPE html>")).toBe(true);
    expect(html).not.toMatch(/<script|<link|<iframe|@import|url\(|javascript:/i);
    const references = [...html.matchAll(/(?:href|src)="([^"]*)"/g)].map((match) => match[1]!);
    for (const reference of references) expect(reference).toMatch(/^data:image\/png;base64,/);
    expect(html.match(/<svg [^>]*role="img"/g)).toHaveLength(6);
  });

  it("tells results, steps, inputs, warnings and every point", () => {
    const reduction = aReduction();
    const html = textOf(drawn.get("report.html"));
    expect(html).toContain("<h1>Nanorods &lt;at rest&gt; &amp; &quot;sheared&quot;</h1>");
    expect(html).toContain("wavelength spread is a guess");
    expect(html).toContain("column 22.300 ± 0.021, row 18.700 ± 0.024");
    expect(html).toContain("0.7200 ± 0.0040");
    expect(html).toContain("no flood run is given");
    expect(html).toContain("factor from 1 to 1.012");
    expect(html).toContain("ab".repeat(32));
    const points = [...reduction.curves, ...reduction.profiles].reduce((sum, one) => sum + one.intensity.length, 0);
    const numbers = html.split('<table class="numbers">').slice(1).join("");
    expect(numbers.match(/<tr><td>/g)).toHaveLength(points);
  });

  it("can't be broken by what a file calls itself", async () => {
    const hostile = '"><script>alert(1)</script><img src=x onerror=y>';
    const base = aReduction();
    const html = textOf(
      (
        await filesOf(
          ["report"],
          aReduction({
            title: hostile,
            sampleFile: hostile,
            warnings: [hostile],
            ledger: {
              ...base.ledger,
              steps: [{ ...base.ledger.steps[0]!, step: hostile, parameters: { [hostile]: hostile } }],
            },
          }),
        )
      ).get("report.html"),
    );
    expect(html).not.toMatch(/<script|<img/);
  });
});

describe("all outputs together", () => {
  it("are the same bytes twice, but for the times inside HDF5", async () => {
    const again = await filesOf(OUTPUT_KINDS);
    const first = await filesOf(OUTPUT_KINDS.filter((kind) => kind !== "figures" && kind !== "report"));
    const once = new Map([...drawn, ...first]);
    expect([...again.keys()].sort()).toEqual([...once.keys()].sort());
    for (const [path, bytes] of once) {
      if (!path.endsWith(".h5")) expect(Buffer.compare(bytes, again.get(path)!), path).toBe(0);
    }
  });
});

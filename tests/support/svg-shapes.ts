import { SaxesParser } from "saxes";

/** Attributes that tests look at. */
type AttributeName = "d" | "height" | "href" | "stroke" | "style" | "width" | "x" | "y" | "font-size";

export interface SvgElement {
  readonly name: string;
  readonly attributes: Readonly<Partial<Record<AttributeName, string>>>;
  /** Names of the elements around it, outermost first. */
  readonly inside: readonly string[];
  text: string;
}

/** Elements of an SVG in document order; throws where it isn't well-formed XML. */
export function svgElements(svg: string): readonly SvgElement[] {
  const found: SvgElement[] = [];
  const open: SvgElement[] = [];
  const parser = new SaxesParser();
  parser.on("error", (error) => {
    throw error;
  });
  parser.on("opentag", ({ name, attributes }) => {
    const element = {
      name,
      attributes: attributes as SvgElement["attributes"],
      inside: open.map((o) => o.name),
      text: "",
    };
    found.push(element);
    open.push(element);
  });
  parser.on("text", (text) => {
    for (const element of open) element.text += text;
  });
  parser.on("closetag", () => open.pop());
  parser.write(svg).close();
  return found;
}

export function svgTexts(svg: string): readonly string[] {
  return svgElements(svg)
    .filter(({ name }) => name === "text")
    .map(({ text }) => text.trim());
}

/** Starting points of the subpaths of a path, in order. */
export function pathStarts(d: string): readonly (readonly [number, number])[] {
  return [...d.matchAll(/M(-?[\d.]+) (-?[\d.]+)/g)].map((match) => [Number(match[1]), Number(match[2])] as const);
}

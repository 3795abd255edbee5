import { SaxesParser } from "saxes";
import { failure, type Result, success } from "../../model/result.ts";
import { LIMITS } from "../limits.ts";

/** An element as a walker sees it. */
export interface XmlElement {
  readonly name: string;
  readonly namespace: string;
  readonly attributes: Readonly<Record<string, string>>;
}

export interface XmlVisitor {
  open(element: XmlElement, depth: number): void;
  /** The text inside the element itself, comments apart. */
  close(element: XmlElement, text: string, depth: number): void;
}

class XmlFault extends Error {}

/** Walks a document. Document types, and with them entities of its own, are refused; depth and size are bounded. */
export function walkXml(text: string, file: string, visitor: XmlVisitor): Result<undefined> {
  if (text.length > LIMITS.xmlBytes)
    return failure("out-of-range", `${file} has ${text.length} characters; the limit for XML is ${LIMITS.xmlBytes}`, {
      file,
    });
  const parser = new SaxesParser({ xmlns: true });
  const stack: { element: XmlElement; text: string }[] = [];
  parser.on("doctype", () => {
    throw new XmlFault("document types are not accepted");
  });
  parser.on("error", (error) => {
    // The library puts line and column in front.
    throw new XmlFault(error.message.replace(/^\d+:\d+: /, ""));
  });
  parser.on("opentag", (tag) => {
    if (stack.length >= LIMITS.xmlDepth) throw new XmlFault(`elements are nested deeper than ${LIMITS.xmlDepth}`);
    const attributes = Object.fromEntries(Object.values(tag.attributes).map(({ local, value }) => [local, value]));
    const element = { name: tag.local, namespace: tag.uri, attributes };
    stack.push({ element, text: "" });
    visitor.open(element, stack.length - 1);
  });
  const addText = (part: string): void => {
    const top = stack.at(-1);
    if (top !== undefined) top.text += part;
  };
  parser.on("text", addText);
  parser.on("cdata", addText);
  parser.on("closetag", () => {
    const { element, text: inside } = stack.pop()!;
    visitor.close(element, inside, stack.length);
  });
  try {
    parser.write(text).close();
    return success(undefined);
  } catch (error) {
    if (!(error instanceof XmlFault)) throw error;
    return failure("unreadable", `${file}, line ${parser.line}: ${error.message}`, {
      file,
      field: `line ${parser.line}`,
    });
  }
}

import { SaxesParser } from "saxes";

/** What a NeXus definition asks of a group, a field or an attribute. */
export interface NxdlNode {
  readonly element: "definition" | "group" | "field" | "attribute";
  readonly name: string;
  /** NeXus class of a group. */
  readonly type: string;
  /** True where an application definition asks for it: everything that isn't marked optional. */
  readonly required: boolean;
  readonly allowed: string[];
  readonly children: NxdlNode[];
}

const NODES: ReadonlySet<string> = new Set(["definition", "group", "field", "attribute"]);

/** Reads the parts of an NXDL file that say what must be there; documentation is left out. */
export function parseNxdl(xml: string): NxdlNode {
  const parser = new SaxesParser();
  const stack: NxdlNode[] = [];
  let root: NxdlNode | undefined;
  parser.on("opentag", ({ name: element, attributes }) => {
    const at = (key: string) => attributes[key] as string | undefined;
    if (element === "item") stack.at(-1)!.allowed.push(at("value")!);
    if (!NODES.has(element)) return;
    const node: NxdlNode = {
      element: element as NxdlNode["element"],
      name: at("name") ?? "",
      type: at("type") ?? "",
      required: at("optional") !== "true" && at("minOccurs") !== "0",
      allowed: [],
      children: [],
    };
    stack.at(-1)?.children.push(node);
    root ??= node;
    stack.push(node);
  });
  parser.on("closetag", ({ name }) => {
    if (NODES.has(name)) stack.pop();
  });
  parser.write(xml).close();
  return root!;
}

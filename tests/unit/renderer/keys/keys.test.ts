import { describe, expect, it } from "vitest";
import { isKeys, pressedKeys } from "../../../../renderer/keys/key-press.ts";
import { refusalOf, warningOf } from "../../../../renderer/keys/key-rules.ts";
import { holderOf, keyTable, readChosenKeys, withKeys } from "../../../../renderer/keys/key-table.ts";

const COMMANDS = [
  { id: "undo", title: "Undo", keys: "$mod+KeyZ" },
  { id: "fit", title: "Fit", keys: "KeyF" },
  { id: "rings", title: "Rings", keys: "KeyQ" },
  { id: "guide", title: "Guide" },
];
const table = (chosen: Readonly<Record<string, string>>) => Object.fromEntries(keyTable(COMMANDS, chosen));

function press(code: string, ...held: readonly ("ctrl" | "meta" | "alt" | "shift")[]) {
  return {
    code,
    ctrlKey: held.includes("ctrl"),
    metaKey: held.includes("meta"),
    altKey: held.includes("alt"),
    shiftKey: held.includes("shift"),
  };
}

describe("a press", () => {
  // Codes and modifiers as the UI Events specification of the W3C names them; "$mod" as tinykeys documents it.
  it("is written as tinykeys reads it, by the place of the key", () => {
    expect(pressedKeys(press("KeyZ"), false)).toBe("KeyZ");
    expect(pressedKeys(press("KeyZ", "ctrl", "shift"), false)).toBe("$mod+Shift+KeyZ");
    expect(pressedKeys(press("KeyZ", "meta"), true)).toBe("$mod+KeyZ");
    expect(pressedKeys(press("KeyZ", "ctrl", "alt"), true)).toBe("Control+Alt+KeyZ");
    expect(pressedKeys(press("KeyZ", "meta"), false)).toBe("Meta+KeyZ");
  });

  it("is not complete while modifiers alone are down", () => {
    expect(pressedKeys(press("ControlLeft", "ctrl"), false)).toBeUndefined();
    expect(pressedKeys(press("ShiftRight", "shift"), false)).toBeUndefined();
    expect(pressedKeys(press("Unidentified"), false)).toBeUndefined();
  });

  it("has the form that a stored one must have", () => {
    for (const code of ["KeyZ", "Digit1", "F5", "Comma"])
      for (const isMac of [true, false]) {
        const keys = pressedKeys(press(code, "ctrl", "meta", "alt", "shift"), isMac);
        expect(keys !== undefined && isKeys(keys), `${keys}`).toBe(true);
      }
    for (const text of ["(.*)", "KeyA KeyB", "Shift+", "[Shift]+KeyA", "+"]) expect(isKeys(text), text).toBe(false);
  });
});

describe("the keys of the commands", () => {
  it("are those they come with, and a choice goes before", () => {
    expect(table({})).toEqual({ undo: "$mod+KeyZ", fit: "KeyF", rings: "KeyQ" });
    expect(table({ guide: "KeyF" })).toEqual({ guide: "KeyF", undo: "$mod+KeyZ", rings: "KeyQ" });
    expect(table({ fit: "" })).toEqual({ undo: "$mod+KeyZ", rings: "KeyQ" });
  });

  it("never belong to two commands, whatever was stored", () => {
    const held = Object.values(table({ guide: "KeyF", rings: "KeyF", undo: "KeyQ" }));
    expect(new Set(held).size).toBe(held.length);
  });

  it("name who holds them", () => {
    expect(holderOf(COMMANDS, {}, "KeyF", "guide")?.id).toBe("fit");
    expect(holderOf(COMMANDS, {}, "KeyF", "fit")).toBeUndefined();
    expect(holderOf(COMMANDS, { fit: "KeyG" }, "KeyF", "guide")).toBeUndefined();
  });

  it("move from one to the other, and come back when the choice goes", () => {
    const taken = withKeys(COMMANDS, {}, "rings", "KeyF");
    expect(table(taken)).toEqual({ undo: "$mod+KeyZ", rings: "KeyF" });
    expect(table(withKeys(COMMANDS, taken, "rings", "KeyQ"))).toEqual(table({}));
    // Taken from one that had chosen them, too.
    const again = withKeys(COMMANDS, taken, "guide", "KeyF");
    expect(table(again)).toEqual({ undo: "$mod+KeyZ", guide: "KeyF" });
    expect(again).toEqual({ rings: "", guide: "KeyF" });
  });

  it("are read from a session as far as they name keys", () => {
    const stored = { fit: "KeyG", rings: "", undo: "(.*)", open: 3, ["__proto__"]: "KeyA" };
    expect(readChosenKeys(stored)).toMatchObject({ fit: "KeyG", rings: "" });
    expect(Object.keys(readChosenKeys(stored))).not.toContain("undo");
    expect(readChosenKeys("KeyG")).toEqual({});
  });
});

describe("keys that are spoken for", () => {
  it("are refused where people without a mouse or in a field need them", () => {
    for (const keys of ["Tab", "Shift+Tab", "Enter", "Escape", "Space", "ArrowLeft", "$mod+KeyC"])
      expect(refusalOf(keys), keys).toBeDefined();
    for (const keys of ["KeyC", "$mod+ArrowLeft", "Alt+Enter", "$mod+Shift+KeyC"])
      expect(refusalOf(keys), keys).toBeUndefined();
  });

  it("are warned of where a browser uses them", () => {
    expect(warningOf("$mod+KeyT")).toContain("keeps these keys for itself");
    expect(warningOf("F5")).toContain("loads the page anew");
    expect(warningOf("KeyT")).toBeUndefined();
  });
});

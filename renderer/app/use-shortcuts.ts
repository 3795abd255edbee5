import { useEffect } from "react";
import { tinykeys } from "tinykeys";
import { useKeys } from "../keys/use-keys.ts";
import type { Application } from "./application.ts";
import { COMMANDS, isEnabled } from "./commands.ts";

/** Binds the keys of all commands. Plain letters are left to fields that are being typed into. */
export function useShortcuts(application: Application): void {
  const keysOf = useKeys();
  useEffect(() => {
    const bindings = Object.fromEntries(
      COMMANDS.flatMap((command) => {
        const keys = keysOf(command.id);
        if (keys === undefined) return [];
        const handle = (event: KeyboardEvent) => {
          if (isTyping(event) || isBehindSheet(event, application) || !isEnabled(command, application)) return;
          event.preventDefault();
          command.run(application);
        };
        return [[keys, handle]];
      }),
    );
    return tinykeys(window, bindings, { ignore });
  }, [application, keysOf]);
}

/** Every field is heard, and `isTyping` says what is the field's own; a key that is held down acts once. */
function ignore({ repeat, isComposing }: KeyboardEvent): boolean {
  return repeat || isComposing;
}

/** Inputs that take no letters: a slider's, a switch's. */
const NO_TEXT: readonly string[] = ["range", "checkbox", "radio"];

/** In a field, letters are its own, and so is undoing what was typed. */
function isTyping({ target, ctrlKey, metaKey, code }: KeyboardEvent): boolean {
  const isField =
    (target instanceof HTMLInputElement && !NO_TEXT.includes(target.type)) || target instanceof HTMLTextAreaElement;
  return isField && (code === "KeyZ" || !(ctrlKey || metaKey));
}

/**
 * A sheet lies over the window: what is behind it keeps still, also before the sheet has the focus. One that is closing
 * keeps the focus for a while, and no key is lost to it.
 */
function isBehindSheet({ target }: KeyboardEvent, { document }: Application): boolean {
  if (document.getState().view.sheet !== undefined) return true;
  return target instanceof Element && target.closest('[role="dialog"]:not([data-closed])') !== null;
}

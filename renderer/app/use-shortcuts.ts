import { useEffect } from "react";
import { tinykeys } from "tinykeys";
import type { Application } from "./application.ts";
import { COMMANDS, isEnabled } from "./commands.ts";

/** Binds the keys of all commands. Plain letters are left to fields that are being typed into. */
export function useShortcuts(application: Application, openCommandList: () => void): void {
  useEffect(() => {
    const bindings = Object.fromEntries(
      COMMANDS.flatMap((command) => {
        const { keys } = command;
        if (keys === undefined) return [];
        const handle = (event: KeyboardEvent) => {
          if (isTyping(event) || isInDialog(event) || !isEnabled(command, application)) return;
          event.preventDefault();
          command.run(application);
        };
        return [[keys, handle]];
      }),
    );
    const commandList = (event: KeyboardEvent) => {
      if (isInDialog(event)) return;
      event.preventDefault();
      openCommandList();
    };
    return tinykeys(window, { ...bindings, "$mod+KeyK": commandList });
  }, [application, openCommandList]);
}

/** Inputs that take no letters: a slider's, a switch's. */
const NO_TEXT: readonly string[] = ["range", "checkbox", "radio"];

/** In a field, letters are its own, and so is undoing what was typed. */
function isTyping({ target, ctrlKey, metaKey, code }: KeyboardEvent): boolean {
  const isField =
    (target instanceof HTMLInputElement && !NO_TEXT.includes(target.type)) || target instanceof HTMLTextAreaElement;
  return isField && (code === "KeyZ" || !(ctrlKey || metaKey));
}

/** A dialog lies over the window: what is behind it keeps still. */
function isInDialog({ target }: KeyboardEvent): boolean {
  return target instanceof Element && target.closest('[role="dialog"]') !== null;
}

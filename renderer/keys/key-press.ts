/** What a KeyboardEvent says of the keys that are down. */
export interface KeyPress {
  /** The place of the key, whatever its letter: "KeyZ". */
  readonly code: string;
  readonly ctrlKey: boolean;
  readonly metaKey: boolean;
  readonly altKey: boolean;
  readonly shiftKey: boolean;
}

const MODIFIERS = /^(?:Shift|Control|Alt|Meta|OS)(?:Left|Right)$|^(?:CapsLock|NumLock|ScrollLock|Fn|FnLock)$/;

/** "$mod+Shift+KeyZ"; undefined as long as only keys are down that change the meaning of others. */
export function pressedKeys(
  { code, ctrlKey, metaKey, altKey, shiftKey }: KeyPress,
  isMac: boolean,
): string | undefined {
  if (code === "" || code === "Unidentified" || MODIFIERS.test(code)) return undefined;
  const parts = [
    (isMac ? metaKey : ctrlKey) && "$mod",
    isMac && ctrlKey && "Control",
    !isMac && metaKey && "Meta",
    altKey && "Alt",
    shiftKey && "Shift",
    code,
  ];
  return parts.filter((part) => part !== false).join("+");
}

const FORM = /^(?:\$mod\+)?(?:Control\+)?(?:Meta\+)?(?:Alt\+)?(?:Shift\+)?[A-Za-z][A-Za-z0-9]*$/;

/** Whether a stored text names keys as `pressedKeys` writes them. */
export function isKeys(text: string): boolean {
  return FORM.test(text);
}

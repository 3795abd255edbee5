/** Without Ctrl or Alt these move the focus, press what has it, or leave a dialog: people without a mouse need them. */
const MOVING = /^(?:Shift\+)?(?:Tab|Enter|NumpadEnter|Space|Escape|Backspace|Arrow\w+|Home|End|PageUp|PageDown)$/;

const EDITING = /^\$mod\+Key[ACVX]$/;

/** Why a command can't have these keys; undefined: it can. */
export function refusalOf(keys: string): string | undefined {
  if (MOVING.test(keys)) return "these keys move about in the window and press its buttons";
  if (EDITING.test(keys)) return "these keys select, cut, copy and paste text";
  return undefined;
}

/** Taken before the page hears of them. Common practice of browsers, no source. */
const NEVER_HEARD = new Set([
  "$mod+KeyN",
  "$mod+KeyT",
  "$mod+KeyW",
  "$mod+KeyQ",
  "$mod+Shift+KeyN",
  "$mod+Shift+KeyT",
  "$mod+Shift+KeyW",
  "$mod+Shift+KeyQ",
  "$mod+Tab",
  "$mod+Shift+Tab",
  "Control+Tab",
  "Control+Shift+Tab",
  "$mod+PageUp",
  "$mod+PageDown",
  "Alt+F4",
  "F11",
]);

const OTHERWISE: Readonly<Record<string, string>> = {
  "$mod+KeyR": "loads the page anew",
  F5: "loads the page anew",
  "$mod+KeyP": "prints",
  "$mod+KeyF": "searches the page",
  "$mod+Equal": "enlarges the page",
  "$mod+Minus": "makes the page smaller",
  "$mod+Digit0": "shows the page in its own size",
  F12: "opens its tools",
};

/** What a browser does with these keys, where that is in the way; undefined: nothing. */
export function warningOf(keys: string): string | undefined {
  if (NEVER_HEARD.has(keys)) return "a browser keeps these keys for itself, so that the command may never hear them";
  const use = Object.hasOwn(OTHERWISE, keys) ? OTHERWISE[keys] : undefined;
  return use === undefined ? undefined : `a browser ${use} by these keys; in this window they now run the command`;
}

export const IS_MAC = /mac/i.test(navigator.platform);

const WORDS: Readonly<Record<string, string>> = {
  $mod: IS_MAC ? "⌘" : "Ctrl",
  Shift: IS_MAC ? "⇧" : "Shift",
  Alt: IS_MAC ? "⌥" : "Alt",
  Escape: "Esc",
  Backslash: "\\",
  Comma: ",",
  Period: ".",
  Slash: "/",
  Equal: "=",
  Minus: "−",
  Semicolon: ";",
  Quote: "'",
  Backquote: "`",
  BracketLeft: "[",
  BracketRight: "]",
};

/** "$mod+Shift+KeyZ" as a person reads it: "Ctrl+Shift+Z". */
export function keysInWords(keys: string): string {
  return keys
    .split("+")
    .map((key) => WORDS[key] ?? key.replace(/^(Key|Digit)/, ""))
    .join(IS_MAC ? "" : "+");
}

export function Keys({ keys }: { readonly keys: string | undefined }) {
  if (keys === undefined) return null;
  return <kbd className="keys">{keysInWords(keys)}</kbd>;
}

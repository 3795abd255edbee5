const encoder = new TextEncoder();

/** UTF-8 without a byte order mark. */
export function utf8(text: string): Uint8Array<ArrayBuffer> {
  return encoder.encode(text);
}

/** Text of a person or a file on one line: control characters and line ends become single blanks. */
export function oneLine(text: string): string {
  return withoutControls(text).replace(/\s+/g, " ").trim();
}

/**
 * XML text or attribute value. XML 1.0 has no way to write most control characters, lone surrogates, U+FFFE and U+FFFF,
 * so they become blanks.
 * @see https://www.w3.org/TR/xml/#charsets
 */
export function escapeXml(text: string): string {
  return withoutControls(text).replace(/[&<>"']/g, (character) => ENTITIES[character]!);
}

const ENTITIES: Readonly<Record<string, string>> = {
  "&": "&amp;",
  "<": "&lt;",
  ">": "&gt;",
  '"': "&quot;",
  "'": "&#39;",
};

function withoutControls(text: string): string {
  let clean = "";
  for (const character of text) {
    const code = character.codePointAt(0)!;
    const allowed =
      code === 0x9 ||
      code === 0xa ||
      code === 0xd ||
      (code >= 0x20 && code <= 0xd7ff) ||
      (code >= 0xe000 && code <= 0xfffd) ||
      code >= 0x10000;
    clean += allowed ? character : " ";
  }
  return clean;
}

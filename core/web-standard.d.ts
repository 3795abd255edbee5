// The few web-standard names that core may use: they exist in Node, in browsers and in workers alike.
// Everything else that the machine offers is out of reach here (see tsconfig.json: no DOM, no Node types).
interface AbortSignal {
  readonly aborted: boolean;
  throwIfAborted(): void;
}
declare class TextDecoder {
  constructor(label?: string, options?: { fatal?: boolean });
  decode(input?: Uint8Array): string;
}
declare class TextEncoder {
  encode(input: string): Uint8Array<ArrayBuffer>;
}

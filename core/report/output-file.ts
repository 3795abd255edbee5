/** One file that a reduction becomes: its place in the result folder, with "/" between folders, and what it holds. */
export interface OutputFile {
  readonly path: string;
  readonly bytes: Uint8Array<ArrayBuffer>;
}

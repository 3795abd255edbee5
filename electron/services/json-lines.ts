import { type FileHandle, open } from "node:fs/promises";
import { failure, type Result, success } from "../../core/model/result.ts";
import { ioFault } from "./io-fault.ts";

const PIECE = 64 * 1024;
const LINE_END = 0x0a;

export type JsonObject = Readonly<Record<string, unknown>>;

/**
 * A file of one JSON object a line that only grows. A line is on the disk before `append` resolves. A last line that a
 * crash cut is taken away when the file is opened.
 */
export class JsonLines {
  readonly #path: string;
  readonly #file: FileHandle;

  private constructor(path: string, file: FileHandle) {
    this.#path = path;
    this.#file = file;
  }

  /**
   * Opens the file, or makes it, and hands over what it holds line by line.
   *
   * @returns a fault where a line before the last is no JSON object: then something else than a crash has been at it
   */
  static async open(path: string, onValue: (value: JsonObject) => void): Promise<Result<JsonLines>> {
    let file: FileHandle;
    try {
      file = await open(path, "a+", 0o666);
    } catch (error) {
      return ioFault("write", path, error);
    }
    try {
      const whole = await readLines(file, path, onValue);
      if (!whole.ok) {
        await file.close();
        return whole;
      }
      if (whole.value < (await file.stat()).size) await file.truncate(whole.value);
      return success(new JsonLines(path, file));
    } catch (error) {
      await file.close();
      return ioFault("read", path, error);
    }
  }

  async append(value: object): Promise<Result<undefined>> {
    try {
      // One write: in append mode the line goes to the end as a whole.
      await this.#file.appendFile(`${JSON.stringify(value)}\n`);
      await this.#file.datasync();
      return success(undefined);
    } catch (error) {
      return ioFault("write", this.#path, error);
    }
  }

  async close(): Promise<void> {
    await this.#file.close();
  }
}

/** @returns bytes of the whole lines */
async function readLines(
  file: FileHandle,
  path: string,
  onValue: (value: JsonObject) => void,
): Promise<Result<number>> {
  const piece = new Uint8Array(PIECE);
  const decoder = new TextDecoder();
  let rest = new Uint8Array(0);
  let at = 0;
  let whole = 0;
  let number = 0;
  let bad: number | undefined;
  for (;;) {
    const { bytesRead } = await file.read(piece, 0, PIECE, at);
    if (bytesRead === 0) return success(whole);
    at += bytesRead;
    const bytes = new Uint8Array(rest.length + bytesRead);
    bytes.set(rest);
    bytes.set(piece.subarray(0, bytesRead), rest.length);
    let start = 0;
    for (let end = bytes.indexOf(LINE_END); end >= 0; end = bytes.indexOf(LINE_END, start)) {
      // Only the last line may be torn: a disk that lost power can hold its end without its middle.
      if (bad !== undefined)
        return failure("unreadable", `line ${bad} of ${path} is not a JSON object: move the file away to begin anew`, {
          file: path,
        });
      number++;
      const value = parsed(decoder.decode(bytes.subarray(start, end)));
      if (value === undefined) bad = number;
      else {
        onValue(value);
        whole += end + 1 - start;
      }
      start = end + 1;
    }
    rest = bytes.slice(start);
  }
}

function parsed(line: string): JsonObject | undefined {
  let value: unknown;
  try {
    value = JSON.parse(line);
  } catch {
    return undefined;
  }
  return typeof value === "object" && value !== null ? (value as JsonObject) : undefined;
}

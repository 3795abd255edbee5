import type { IncomingMessage } from "node:http";

/**
 * The body of a request; undefined where it is longer than `limit`, and then the rest was not read. Its announced length
 * decides first, then what really arrives.
 */
export async function readBody(request: IncomingMessage, limit: number): Promise<Uint8Array<ArrayBuffer> | undefined> {
  if (Number(request.headers["content-length"] ?? 0) > limit) return undefined;
  const pieces: Uint8Array[] = [];
  let length = 0;
  // Left alone when the loop ends early: a destroyed request could not be answered any more.
  for await (const piece of request.iterator({ destroyOnReturn: false }) as AsyncIterable<Uint8Array>) {
    length += piece.length;
    if (length > limit) return undefined;
    pieces.push(piece);
  }
  const body = new Uint8Array(length);
  let at = 0;
  for (const piece of pieces) {
    body.set(piece, at);
    at += piece.length;
  }
  return body;
}

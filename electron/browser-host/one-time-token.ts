import { createHash, randomBytes, timingSafeEqual } from "node:crypto";

const TOKEN_BYTES = 32;

export function randomToken(): string {
  return randomBytes(TOKEN_BYTES).toString("base64url");
}

/** Whether two secrets are equal, in a time that tells nothing about where they differ, nor about their lengths. */
export function sameSecret(a: string, b: string): boolean {
  const digest = (text: string) => createHash("sha256").update(text).digest();
  return timingSafeEqual(digest(a), digest(b));
}

/** A token that opens one session, once. A new one is made only when it is asked for. */
export class OneTimeToken {
  #token: string | undefined;

  renew(): string {
    this.#token = randomToken();
    return this.#token;
  }

  /** True once for the token of the moment; a wrong guess does not use it up. */
  use(offered: string): boolean {
    if (this.#token === undefined || !sameSecret(offered, this.#token)) return false;
    this.#token = undefined;
    return true;
  }
}

/** The window's own scheme: standard and secure, so that it has an origin and isolation as a web page has. */
export const SCHEME = "app";
export const WINDOW_HOST = "halation";
export const WINDOW_ADDRESS = `${SCHEME}://${WINDOW_HOST}/`;

/** Whether an address is of our window. Not by `origin`: that of a custom scheme is the word "null" in Node. */
export function isOurAddress(address: string): boolean {
  let url: URL;
  try {
    url = new URL(address);
  } catch {
    return false;
  }
  return url.protocol === `${SCHEME}:` && url.host === WINDOW_HOST;
}

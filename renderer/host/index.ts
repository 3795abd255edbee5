import type { WindowHost } from "../../core/host-contract.ts";
import { connectBrowserHost } from "./browser-host-client.ts";

declare global {
  interface Window {
    /** Put there by the desktop program's preload; absent in a browser. */
    readonly halation?: WindowHost;
  }
}

/** Of this load of the page: two windows never have the same. */
export const WINDOW_ID = crypto.randomUUID();

let host: Promise<WindowHost> | undefined;

/** The way to the machine: the desktop program's where there is one, else the local host that served this page. */
export function getHost(): Promise<WindowHost> {
  host ??= window.halation === undefined ? connectBrowserHost(WINDOW_ID) : Promise.resolve(window.halation);
  return host;
}

import { type IpcMainInvokeEvent, ipcMain } from "electron";
import { HOST_METHODS, type HostContract } from "../../core/host-contract.ts";
import { callHost } from "../services/serve-host.ts";
import { isOurAddress } from "./window-origin.ts";

/** Only the page itself may call: not a frame in it, not a page that it was led to, not a frame that is gone. */
function isOurWindow({ senderFrame }: IpcMainInvokeEvent): boolean {
  return senderFrame !== null && senderFrame.parent === null && isOurAddress(senderFrame.url);
}

/** One channel a method of the contract. A refusal is an exception in the window, since the window never causes one. */
export function serveCalls(host: HostContract): void {
  for (const method of HOST_METHODS) {
    ipcMain.handle(`halation:${method}`, async (event, ...args: unknown[]) => {
      if (!isOurWindow(event)) throw new TypeError("calls are answered to the window alone");
      const outcome = await callHost(host, method, args);
      if (outcome.kind !== "answer") throw new TypeError(`${method}: ${outcome.kind}`);
      return outcome.value;
    });
  }
}

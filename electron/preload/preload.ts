import { contextBridge, ipcRenderer } from "electron";
import { HOST_EVENTS, HOST_METHODS } from "../../core/host-contract.ts";

// Everything that the window gets: one function a method of the contract, and a way to hear the events. The window never
// sees ipcRenderer, nor the event objects, which would lead back to it.
const methods = Object.fromEntries(
  HOST_METHODS.map((method) => [method, (...args: unknown[]) => ipcRenderer.invoke(`halation:${method}`, ...args)]),
);

function on(event: unknown, listener: (detail: unknown) => void): () => void {
  const known = HOST_EVENTS.find((name) => name === event);
  if (known === undefined) throw new TypeError("there is no event of this name");
  const hear = (_: unknown, detail: unknown) => listener(detail);
  ipcRenderer.on(`halation:event:${known}`, hear);
  return () => void ipcRenderer.off(`halation:event:${known}`, hear);
}

contextBridge.exposeInMainWorld("halation", { ...methods, on });

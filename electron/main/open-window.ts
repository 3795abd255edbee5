import { join } from "node:path";
import { app, BrowserWindow } from "electron";
import { WINDOW_ADDRESS } from "./window-origin.ts";

/** The ground colour of the dark palette, shown until the page has drawn itself. */
const GROUND = "#14161A";
/** A page that ends twice within this time would go on ending. */
const SHORTEST_LIFE_MS = 10_000;

/** Opens the window. Its page has no way to the machine but the preload's. */
export async function openWindow(builtFolder: string): Promise<BrowserWindow> {
  const window = new BrowserWindow({
    width: 1440,
    height: 900,
    minWidth: 960,
    minHeight: 600,
    title: "Halation",
    backgroundColor: GROUND,
    show: false,
    webPreferences: {
      preload: join(builtFolder, "preload.cjs"),
      contextIsolation: true,
      sandbox: true,
      nodeIntegration: false,
      nodeIntegrationInWorker: false,
      webSecurity: true,
      webviewTag: false,
      spellcheck: false,
      devTools: !app.isPackaged,
    },
  });
  window.once("ready-to-show", () => window.show());
  let opened = Date.now();
  window.webContents.on("render-process-gone", (_, { reason }) => {
    if (reason === "clean-exit") return;
    if (Date.now() - opened < SHORTEST_LIFE_MS) {
      process.stderr.write(`halation: the window's page ended at once (${reason})\n`);
      app.exit(1);
      return;
    }
    // The session was saved as it changed: the page finds it again.
    opened = Date.now();
    window.webContents.reload();
  });
  await window.loadURL(WINDOW_ADDRESS);
  return window;
}

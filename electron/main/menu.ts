import { Menu, type MenuItemConstructorOptions } from "electron";

/** The native menu: what belongs to the program. What belongs to the document is in the window's own command list. */
export function setMenu(isMac: boolean, openFiles: () => void): void {
  const file: MenuItemConstructorOptions = {
    label: "File",
    submenu: [
      { label: "Open…", accelerator: "CmdOrCtrl+O", click: openFiles },
      { role: "recentDocuments", submenu: [{ role: "clearRecentDocuments" }] },
      { type: "separator" },
      isMac ? { role: "close" } : { role: "quit" },
    ],
  };
  const view: MenuItemConstructorOptions = {
    label: "View",
    submenu: [
      { role: "resetZoom" },
      { role: "zoomIn" },
      { role: "zoomOut" },
      { type: "separator" },
      { role: "togglefullscreen" },
    ],
  };
  Menu.setApplicationMenu(
    // Undo in the Edit menu would take back typing, not changes of the plan: the window keeps those keys for itself.
    Menu.buildFromTemplate([
      ...(isMac ? [{ role: "appMenu" } as const] : []),
      file,
      { label: "Edit", submenu: [{ role: "cut" }, { role: "copy" }, { role: "paste" }, { role: "selectAll" }] },
      view,
      { role: "windowMenu" },
    ]),
  );
}

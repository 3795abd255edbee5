import { basename, dirname } from "node:path";
import type { MenuItemConstructorOptions } from "electron";

export interface MenuParts {
  readonly isMac: boolean;
  /** Newest first; not read on a Mac, whose system keeps its own list. */
  readonly recent: readonly string[];
  pickFiles(): void;
  openRecent(path: string): void;
  clearRecent(): void;
}

/** The native menu: what belongs to the program. What belongs to the document is in the window's own command list. */
export function menuTemplate(parts: MenuParts): MenuItemConstructorOptions[] {
  const { isMac } = parts;
  const file: MenuItemConstructorOptions = {
    label: "File",
    submenu: [
      { label: "Open…", accelerator: "CmdOrCtrl+O", click: () => parts.pickFiles() },
      isMac ? { role: "recentDocuments", submenu: [{ role: "clearRecentDocuments" }] } : recentMenu(parts),
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
  // Undo in the Edit menu would take back typing, not changes of the plan: the window keeps those keys for itself.
  return [
    ...(isMac ? [{ role: "appMenu" } as const] : []),
    file,
    { label: "Edit", submenu: [{ role: "cut" }, { role: "copy" }, { role: "paste" }, { role: "selectAll" }] },
    view,
    { role: "windowMenu" },
  ];
}

function recentMenu({ recent, openRecent, clearRecent }: MenuParts): MenuItemConstructorOptions {
  const names = recent.map((path) => basename(path));
  return {
    label: "Open recent",
    enabled: recent.length > 0,
    submenu: [
      ...recent.map((path, i): MenuItemConstructorOptions => {
        const name = names[i] ?? path;
        const isUnique = names.indexOf(name) === names.lastIndexOf(name);
        // "&" would underline the letter after it.
        const label = (isUnique ? name : `${name} (${dirname(path)})`).replaceAll("&", "&&");
        return { label, click: () => openRecent(path) };
      }),
      { type: "separator" },
      { label: "Clear the list", click: () => clearRecent() },
    ],
  };
}

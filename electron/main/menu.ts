import { Menu } from "electron";
import { type MenuParts, menuTemplate } from "./menu-template.ts";

export function setMenu(parts: MenuParts): void {
  Menu.setApplicationMenu(Menu.buildFromTemplate(menuTemplate(parts)));
}

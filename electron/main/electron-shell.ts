import { join } from "node:path";
import { app, dialog } from "electron";
import type { PickKind, Shell } from "../services/shell.ts";
import { VERSION } from "../services/version.ts";

const FILTERS: Readonly<Record<PickKind, readonly { readonly name: string; readonly extensions: string[] }[]>> = {
  // What a file is, its content decides: nothing is hidden by its name.
  run: [
    {
      name: "Frames, plans and curves",
      extensions: [
        "nxs",
        "h5",
        "hdf",
        "hdf5",
        "npy",
        "tif",
        "tiff",
        "cbf",
        "json",
        "xml",
        "csv",
        "txt",
        "dat",
        "gz",
        "zip",
      ],
    },
    { name: "All files", extensions: ["*"] },
  ],
  mask: [
    { name: "Masks", extensions: ["npy", "tif", "tiff", "h5"] },
    { name: "All files", extensions: ["*"] },
  ],
  plan: [{ name: "Reduction plans", extensions: ["json"] }],
  curve: [
    { name: "Curves", extensions: ["csv", "txt", "dat", "xml", "h5", "nxs"] },
    { name: "All files", extensions: ["*"] },
  ],
};

/**
 * The shell of the desktop program: its dialogs, and the places that the system gives it.
 * @param onPicked told of the files that a person chose to open
 */
export function electronShell(launch: Shell["launch"], onPicked: (paths: readonly string[]) => void): Shell {
  return {
    info: { kind: "electron", version: VERSION, platform: process.platform },
    userDataFolder: app.getPath("userData"),
    startFolder: process.cwd(),
    launch,
    async pickFiles(kind) {
      const { canceled, filePaths } = await dialog.showOpenDialog({
        properties: kind === "plan" || kind === "mask" ? ["openFile"] : ["openFile", "multiSelections"],
        filters: FILTERS[kind].map(({ name, extensions }) => ({ name, extensions })),
      });
      if (canceled) return [];
      for (const path of filePaths) app.addRecentDocument(path);
      onPicked(filePaths);
      return filePaths;
    },
    async pickFolder() {
      const { canceled, filePaths } = await dialog.showOpenDialog({ properties: ["openDirectory"] });
      return canceled ? undefined : filePaths[0];
    },
    async pickExportPlace(suggestedName, kind) {
      if (kind === "file") {
        const { canceled, filePath } = await dialog.showSaveDialog({
          defaultPath: join(app.getPath("documents"), suggestedName),
        });
        // The dialog itself asks before it gives the name of a file that is there.
        return canceled ? undefined : { path: filePath, mayReplace: true };
      }
      const { canceled, filePaths } = await dialog.showOpenDialog({
        title: `Folder in which "${suggestedName}" is made`,
        properties: ["openDirectory", "createDirectory"],
      });
      const [folder] = filePaths;
      return canceled || folder === undefined ? undefined : { path: folder, mayReplace: false };
    },
  };
}

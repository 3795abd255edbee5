import { app, session } from "electron";
import { isOurAddress } from "./window-origin.ts";

/** Beyond drawing the page may copy a figure or a table, and show a notice when a verdict changes: nothing else. */
const ALLOWED_PERMISSIONS: readonly string[] = ["clipboard-sanitized-write", "notifications"];

/** Whatever the page is led to do: no other address, no further window, no embedded page, no device, no download. */
export function guardContents(): void {
  app.on("web-contents-created", (_, contents) => {
    contents.on("will-navigate", (event) => event.preventDefault());
    contents.on("will-redirect", (event) => event.preventDefault());
    contents.on("will-frame-navigate", (event) => event.preventDefault());
    contents.on("will-attach-webview", (event) => event.preventDefault());
    contents.setWindowOpenHandler(() => ({ action: "deny" }));
  });
  const { defaultSession } = session;
  defaultSession.setPermissionRequestHandler((_, permission, answer, details) =>
    answer(ALLOWED_PERMISSIONS.includes(permission) && isOurAddress(details.requestingUrl)),
  );
  defaultSession.setPermissionCheckHandler(
    (_, permission, origin) => ALLOWED_PERMISSIONS.includes(permission) && isOurAddress(origin),
  );
  defaultSession.setDevicePermissionHandler(() => false);
  defaultSession.on("will-download", (event) => event.preventDefault());
}

import { homedir } from "node:os";
import { join } from "node:path";

/** Where programs of this system keep what a person's account owns; the variable HALATION_DATA names another place. */
export function userDataFolder(
  environment: Readonly<Record<string, string | undefined>> = process.env,
  platform: string = process.platform,
): string {
  const named = environment["HALATION_DATA"];
  if (named !== undefined && named !== "") return named;
  if (platform === "darwin") return join(homedir(), "Library", "Application Support", "Halation");
  if (platform === "win32") return join(environment["APPDATA"] ?? join(homedir(), "AppData", "Roaming"), "Halation");
  return join(environment["XDG_CONFIG_HOME"] || join(homedir(), ".config"), "halation");
}

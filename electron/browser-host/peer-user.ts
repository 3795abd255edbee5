import { readFile } from "node:fs/promises";
import type { Socket } from "node:net";

/** 127.0.0.1 as Linux lists it: the address's bytes in the machine's order. */
const LOOPBACK = "0100007F";

/**
 * The account at the other end of a loopback connection, where the system tells (Linux). On a shared computer everyone
 * reaches 127.0.0.1, and a token in a program's arguments can be read by all.
 */
export async function peerUser(socket: Pick<Socket, "remotePort" | "localPort">): Promise<number | undefined> {
  if (process.platform !== "linux") return undefined;
  let table: string;
  try {
    table = await readFile("/proc/net/tcp", "utf8");
  } catch {
    // No such table here (a container may hide it): the token alone decides.
    return undefined;
  }
  return userOfConnection(table, socket.remotePort ?? 0, socket.localPort ?? 0);
}

/** @param table text of /proc/net/tcp: slot, local address, remote address, state, ..., user in the eighth column */
export function userOfConnection(table: string, fromPort: number, toPort: number): number | undefined {
  const address = (port: number) => `${LOOPBACK}:${port.toString(16).toUpperCase().padStart(4, "0")}`;
  for (const line of table.split("\n")) {
    const columns = line.trim().split(/\s+/);
    if (columns[1] === address(fromPort) && columns[2] === address(toPort)) return Number(columns[7]);
  }
  return undefined;
}

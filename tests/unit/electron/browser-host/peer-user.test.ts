import { type AddressInfo, connect, createServer } from "node:net";
import { describe, expect, it } from "vitest";
import { peerUser, userOfConnection } from "../../../../electron/browser-host/peer-user.ts";

// The layout of /proc/net/tcp, by proc(5) and the kernel's Documentation/networking/proc_net_tcp.
const TABLE = [
  "  sl  local_address rem_address   st tx_queue rx_queue tr tm->when retrnsmt   uid  timeout inode",
  "   0: 0100007F:B3D1 00000000:0000 0A 00000000:00000000 00:00000000 00000000  1000        0 40 1 0 100 0 0 10 0",
  "   1: 0100007F:B3D1 0100007F:9C40 01 00000000:00000000 00:00000000 00000000  1000        0 41 1 0 20 4 30 10 -1",
  "   2: 0100007F:9C40 0100007F:B3D1 01 00000000:00000000 00:00000000 00000000  1001        0 42 1 0 20 4 30 10 -1",
].join("\n");

describe("the account at the other end", () => {
  it("is that of the caller's socket, not of ours", () => {
    expect(userOfConnection(TABLE, 0x9c40, 0xb3d1)).toBe(1001);
    expect(userOfConnection(TABLE, 0xb3d1, 0x9c40)).toBe(1000);
    expect(userOfConnection(TABLE, 1, 2)).toBeUndefined();
  });

  it.runIf(process.platform === "linux")("is ours when we call ourselves", async () => {
    const server = createServer();
    await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
    const accepted = new Promise<number | undefined>((resolve, reject) => {
      server.on("connection", (socket) => {
        peerUser(socket)
          .then(resolve, reject)
          .finally(() => socket.destroy());
      });
    });
    const caller = connect((server.address() as AddressInfo).port, "127.0.0.1").on("error", () => {});
    expect(await accepted).toBe(process.getuid?.());
    caller.destroy();
    server.close();
  });
});

import { readdir, readFile } from "node:fs/promises";
import type { Page } from "@playwright/test";

/** Heap of the page after collecting, and what all processes of its browser hold (Linux). */
export async function chromiumMemory(page: Page): Promise<string> {
  const client = await page.context().newCDPSession(page);
  await client.send("HeapProfiler.collectGarbage");
  const { usedSize } = await client.send("Runtime.getHeapUsage");
  const dom = await client.send("Memory.getDOMCounters");
  await client.detach();
  const parts = [...(await processesOfBrowser())].map(([kind, mib]) => `${kind} ${mib.toFixed(0)}`);
  return `heap ${(usedSize / 2 ** 20).toFixed(1)}, nodes ${dom.nodes}, listeners ${dom.jsEventListeners}; MiB of ${parts.join(", ")}`;
}

/** Proportional set sizes by kind of process, MiB, of the Chromium that this process started. */
async function processesOfBrowser(): Promise<ReadonlyMap<string, number>> {
  const parents = new Map<number, number>();
  const commands = new Map<number, string>();
  for (const entry of await readdir("/proc")) {
    const pid = Number(entry);
    if (!Number.isInteger(pid)) continue;
    const stat = await readFile(`/proc/${pid}/stat`, "utf8").catch(() => "");
    parents.set(pid, Number(stat.slice(stat.lastIndexOf(")") + 2).split(" ")[1]));
    commands.set(pid, await readFile(`/proc/${pid}/cmdline`, "utf8").catch(() => ""));
  }
  const isOurs = (pid: number): boolean => {
    for (let at: number | undefined = pid; at !== undefined && at > 1; at = parents.get(at))
      if (at === process.pid) return true;
    return false;
  };
  const sums = new Map<string, number>();
  for (const [pid, command] of commands) {
    if (!command.includes("chrom") || !isOurs(pid)) continue;
    const kind = /--type=([\w-]+)/.exec(command)?.[1] ?? "browser";
    const usage = await readFile(`/proc/${pid}/smaps_rollup`, "utf8").catch(() => "");
    const kib = Number(/^Pss:\s+(\d+)/m.exec(usage)?.[1] ?? 0);
    if (kib > 0) sums.set(kind, (sums.get(kind) ?? 0) + kib / 1024);
  }
  return sums;
}

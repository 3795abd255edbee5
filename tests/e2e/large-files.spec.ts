import { mkdtemp, readFile, rm, stat, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { expect, type Page, test, type Worker } from "@playwright/test";
import type { Hdf5TreeGroup } from "../../core/formats/hdf5/write-tree.ts";
import { writeHdf5 } from "../../electron/services/write-hdf5.ts";
import { knownFrame } from "../support/known-frame.ts";
import { PATIENCE, settled } from "./support/open-window.ts";
import { startWindowHost, type WindowHost } from "./support/window-host.ts";

test.describe.configure({ timeout: 300_000 });

const [SIDE, FRAMES, CHOSEN] = [512, 80, 47];
/** Larger than anything beside the pixels: what describes the file takes some kilobytes. */
const DESCRIPTION = 2 ** 18;

let folder: string;
let host: WindowHost;

test.beforeAll(async () => {
  // The window may have to be built first.
  test.setTimeout(240_000);
  folder = await mkdtemp(join(tmpdir(), "halation-large-"));
  await writeFiles();
  host = await startWindowHost([join(folder, "stack.plan.json")]);
});
test.afterAll(async () => {
  await host.stop();
  await rm(folder, { recursive: true, force: true });
});

/** A stack of frames, each packed by itself, with a plan for one of them; and a file of a single frame. */
async function writeFiles(): Promise<void> {
  const pixels = SIDE * SIDE;
  const data = new Uint16Array(FRAMES * pixels);
  // A ring that is easily packed, on noise that is not.
  let noise = 1;
  for (let p = 0; p < pixels; p++) {
    noise = (noise * 48_271) % 2_147_483_647;
    const radius = Math.hypot((p % SIDE) - 250, Math.floor(p / SIDE) - 260);
    data[p] = (radius > 75 && radius < 85 ? 200 : 20) + (p % 8 === 0 ? noise % 16 : 0);
  }
  for (let frame = 1; frame < FRAMES; frame++) data.copyWithin(frame * pixels, 0, pixels);
  await writeStack("stack.h5", data);
  await writeStack("next.h5", data.subarray(0, pixels));
  const plan = {
    planVersion: 1,
    runs: { sample: { file: "stack.h5", frame: CHOSEN } },
    metadata: {
      all: {
        distance_m: 4,
        pixelSize_mm: [1.2, 1.2],
        wavelength_A: 6,
        beamCentre_px: [250, 260],
        countTime_s: 600,
      },
    },
    corrections: { normaliseBy: "time" },
    averages: [{ id: "radial", kind: "radial", bins: { spacing: "linear", count: 100, qMin: 0.01, qMax: 0.07 } }],
  };
  await writeFile(join(folder, "stack.plan.json"), JSON.stringify(plan));
}

async function writeStack(name: string, data: Uint16Array): Promise<void> {
  const shape = [data.length / SIDE ** 2, SIDE, SIDE];
  const group = (nxClass: string, children: Hdf5TreeGroup["children"]): Hdf5TreeGroup => ({
    kind: "group",
    attributes: { NX_class: nxClass },
    children,
  });
  const detector = group("NXdetector", { data: { kind: "dataset", data, shape, deflate: 1 } });
  const entry = group("NXentry", { instrument: group("NXinstrument", { detector }) });
  await writeFile(join(folder, name), await writeHdf5(group("NXroot", { entry })));
}

/** A frame whose packed pixels are damaged so that the filter stops the whole HDF5 library. */
async function writeTrap(): Promise<string> {
  const bytes = await readFile(resolve(import.meta.dirname, "../support/fixtures/lzf.h5"));
  // The packed stream starts with literals: a length, then the first pixels as they are.
  const pixels = Buffer.from(new Uint16Array(knownFrame().slice(0, 4)).buffer);
  const at = bytes.indexOf(pixels);
  if (at < 0) throw new Error("the packed pixels are not where they should be");
  bytes.fill(0xff, at + 8, at + 60);
  const path = join(folder, "trap.h5");
  await writeFile(path, bytes);
  return path;
}

interface Seen {
  bytes: number;
  largest: number;
  memory: number;
}

/** Counts what HDF5 reads of files, and its memory, in the worker itself. */
async function watchReading(worker: Worker): Promise<void> {
  await worker.evaluate(() => {
    const seen: Seen = { bytes: 0, largest: 0, memory: 0 };
    Object.assign(self, { seen });
    // Node's types don't know what only browsers have.
    const { FileReaderSync: reader } = self as unknown as {
      FileReaderSync: { prototype: { readAsArrayBuffer(blob: Blob): ArrayBuffer } };
    };
    const { readAsArrayBuffer } = reader.prototype;
    reader.prototype.readAsArrayBuffer = function (blob) {
      seen.bytes += blob.size;
      seen.largest = Math.max(seen.largest, blob.size);
      return readAsArrayBuffer.call(this, blob);
    };
    const { grow } = WebAssembly.Memory.prototype;
    WebAssembly.Memory.prototype.grow = function (pages) {
      const before = grow.call(this, pages);
      seen.memory = Math.max(seen.memory, this.buffer.byteLength);
      return before;
    };
  });
}

const seenBy = (worker: Worker): Promise<Seen> => worker.evaluate(() => (self as unknown as { seen: Seen }).seen);

/** Drops a file of the disk, whose bytes stay there, as a person does with the mouse. */
async function dropFromDisk(page: Page, path: string): Promise<void> {
  await page.evaluate(() => {
    const input = document.createElement("input");
    input.type = "file";
    input.id = "from-disk";
    document.body.append(input);
  });
  await page.locator("#from-disk").setInputFiles(path);
  await page.evaluate(() => {
    const input = document.querySelector<HTMLInputElement>("#from-disk")!;
    const dataTransfer = new DataTransfer();
    dataTransfer.items.add(input.files![0]!);
    input.remove();
    document
      .querySelector(".window")
      ?.dispatchEvent(new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer }));
  });
}

test("a stack is read by the frame, and a file that stops HDF5 costs a new worker and nothing else", async ({
  page,
}, info) => {
  // The one that computes: the pictures' library has workers of its own.
  const isComputing = (worker: Worker) => /\/worker-[^/]*\.js$/.test(worker.url());
  const computing = page.waitForEvent("worker", isComputing);
  await page.goto(host.address);
  const worker = await computing;
  await watchReading(worker);
  await settled(page);
  const heading = page.getByRole("heading", { level: 1 });
  await expect(heading).toHaveText("stack.h5");
  const size = (await stat(join(folder, "stack.h5"))).size;
  const { bytes, largest, memory } = await seenBy(worker);
  // One frame of eighty, and what describes the file.
  expect(bytes).toBeGreaterThan(size / FRAMES / 2);
  expect(bytes).toBeLessThan((1.5 * size) / FRAMES + DESCRIPTION);
  expect(largest).toBeLessThan(size / FRAMES + DESCRIPTION);
  // The library starts with 16 MiB; the whole stack has 40.
  expect(memory).toBeLessThan(2 ** 25);

  const counted = page.locator(".ledger-count");
  const before = await counted.textContent();
  const again = page.waitForEvent("worker", isComputing);
  await dropFromDisk(page, await writeTrap());
  const words = "reading trap.h5 stopped the HDF5 library; the file may be damaged";
  await expect(page.locator(".notice.fault", { hasText: `was started again: ${words}` })).toHaveCount(1, PATIENCE);
  await again;
  await expect(page.locator("[data-notice=plan]")).toContainText(words, PATIENCE);
  await page.screenshot({ path: info.outputPath("trapped.png") });
  await page.getByRole("button", { name: "Undo", exact: true }).click();
  await expect(page.locator("[data-notice=plan]")).toHaveCount(0, PATIENCE);
  await settled(page);
  await expect(heading).toHaveText("stack.h5");
  expect(await counted.textContent()).toBe(before);

  await dropFromDisk(page, join(folder, "next.h5"));
  await expect(heading).toHaveText("next.h5", PATIENCE);
  await settled(page);
  await page.screenshot({ path: info.outputPath("next.png") });
});

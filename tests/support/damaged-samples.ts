import { readFileSync } from "node:fs";
import mt19937 from "@stdlib/random-base-mt19937";
import { bytesSource } from "../../core/formats/byte-source.ts";
import { openCurves } from "../../core/formats/curves/open-curves.ts";
import { openRun } from "../../core/formats/open-run.ts";
import { openHdf5Guarded } from "../../electron/services/hdf5-guard.ts";

const SAMPLES = [
  "kinds.h5",
  "nexus-standard.h5",
  "nexus-variants.h5",
  "plain.h5",
  "few-events.h5",
  "curves.h5",
  "u2.npy",
  "stack-fortran.npy",
  "strips.tif",
  "tiles.tif",
  "pages.tif",
  "big.tif",
  "zlib.tif",
  "pillow-lzw-predictor.tif",
  "pillow-f32-predictor3.tif",
  "pillow-packbits.tif",
  "jumps.cbf",
  "base64.cbf",
  "u2.npy.gz",
  "members.npy.gz",
  "stored.npz",
  "deflated.npz",
  "zip64.zip",
  "matrix.txt",
  "exponents.csv",
];
const CURVE = `<?xml version="1.0"?><SASroot version="1.1" xmlns="urn:cansas1d:1.1"><SASentry><Title>t</Title><Run/><SASdata>
${Array.from({ length: 20 }, (_, i) => `<Idata><Q unit="1/A">${i / 100 + 0.01}</Q><I unit="1/cm">${20 - i}</I><Idev unit="1/cm">0.1</Idev></Idata>`).join("\n")}
</SASdata><SASsample><ID>s</ID></SASsample><SASinstrument><name>i</name></SASinstrument><SASnote/></SASentry></SASroot>`;

/** Datasets of the file that has one for each storage and filter. */
const STORES = [
  "contiguous",
  "compact",
  "chunked",
  "gzip",
  "shuffle",
  "fletcher",
  "lzf",
  "scaleoffset",
  "lz4",
  "bitshuffle",
];

/** Bytes. */
const LARGE = 50_000;

/** Numbers that break size arithmetic. */
const EDGES = [0, 1, 0x7f, 0x80, 0xff, 0x7fff, 0x8000, 0xffff, 0x7fffffff, 0x80000000, 0xffffffff];

export interface Sample {
  readonly name: string;
  readonly bytes: Uint8Array<ArrayBuffer>;
}

/** Valid files of every format. @param folder tests/support/fixtures, which a built script can't find by itself */
export function validSamples(folder: URL): readonly Sample[] {
  const files = SAMPLES.map((name) => ({ name, bytes: new Uint8Array(readFileSync(new URL(name, folder))) }));
  return [...files, { name: "curve.xml", bytes: new TextEncoder().encode(CURVE) }];
}

/** The file that run `run` of a seed opens: a sample with one to four changes; the same each time. */
export function damagedSample(samples: readonly Sample[], seed: number, run: number): Sample {
  const draw = mt19937.factory({ seed: (seed * 1_000_003 + run) % 2 ** 32 || 1 });
  const random = (): number => draw() / 2 ** 32;
  const { name, bytes } = sampleOf(samples, run);
  const other = samples[Math.floor(random() * samples.length)]!;
  return { name, bytes: change(bytes, other.bytes, random) };
}

/** Each in turn; but large files take fifty times as long as most, and two of three of their turns go to the others. */
function sampleOf(samples: readonly Sample[], run: number): Sample {
  const turn = Math.floor(run / samples.length);
  const own = samples[run % samples.length]!;
  return own.bytes.length > LARGE && turn % 3 !== 0 ? samples[turn % samples.length]! : own;
}

function change(original: Uint8Array, other: Uint8Array, random: () => number): Uint8Array<ArrayBuffer> {
  let bytes = original.slice();
  const below = (n: number): number => Math.floor(random() * n);
  // Half of all changes go to the first kilobyte, where files describe themselves.
  const place = (): number => (random() < 0.5 ? below(Math.min(1024, bytes.length)) : below(bytes.length));
  for (let i = 0, n = 1 + below(4); i < n && bytes.length > 16; i++) {
    const at = place();
    const kind = below(7);
    if (kind === 0) bytes[at]! ^= 1 << below(8);
    else if (kind === 1) bytes[at] = below(256);
    else if (kind === 2 && at + 4 <= bytes.length)
      new DataView(bytes.buffer).setUint32(at, EDGES[below(EDGES.length)]!, random() < 0.5);
    else if (kind === 3) bytes = bytes.slice(0, at + 1);
    else if (kind === 4) bytes.fill(below(2) * 255, at, at + below(64));
    else if (kind === 5) bytes.copyWithin(at, place(), Math.min(bytes.length, place() + 64));
    else bytes.set(other.subarray(0, Math.min(below(256), other.length, bytes.length - at)), at);
  }
  return bytes;
}

/** Opens it as a curve where its name says so, and as a frame. @throws whatever escapes the readers */
export async function openDamaged({ name, bytes }: Sample, run: number): Promise<"frame" | "curve" | "fault"> {
  const signal = new AbortController().signal;
  const source = bytesSource(name, bytes);
  if (/\.(xml|csv|txt)$|^curves/.test(name)) {
    const curves = await openCurves(source, { signal, openHdf5: openHdf5Guarded });
    if (curves.ok) return "curve";
  }
  const choice = name === "kinds.h5" ? { dataset: `/stores/${STORES[Math.floor(run / 7) % STORES.length]}` } : {};
  const opened = await openRun(source, { choice, signal, openHdf5: openHdf5Guarded });
  if (!opened.ok) return "fault";
  try {
    for (const bank of opened.value.banks) {
      const frame = await bank.readFrame(0, signal);
      if (!frame.ok) return "fault";
    }
    return "frame";
  } finally {
    opened.value.close();
  }
}

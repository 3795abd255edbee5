import type { RunMetadata, Sourced } from "../../model/metadata.ts";
import { unitFactor } from "../units.ts";

export interface CbfHeader {
  readonly metadata: RunMetadata;
  readonly saturation: number | undefined;
  readonly notes: readonly string[];
}

/**
 * What the text of a CBF file says: the lines "# Key value unit" of its header contents, a convention of detector makers
 * (common practice, no source), and the imgCIF tags for wavelength and pixel size.
 * Keys fold case, blanks and underscores; a colon or an equals sign may follow them.
 */
export function readCbfHeader(text: string): CbfHeader {
  const lines = new Map<string, { value: string; line: string }>();
  for (const line of text.split(/\r?\n/)) {
    const match = /^#\s*([A-Za-z][A-Za-z_ ]*?)\s*[:=]?\s+([-+(\d.].*)$/.exec(line.trim());
    if (match !== null)
      lines.set(match[1]!.toLowerCase().replace(/[\s_]+/g, ""), { value: match[2]!.trim(), line: line.trim() });
  }
  const scalar = (key: string, kind: "length" | "time", scale: number): Sourced<number> | undefined => {
    const found = lines.get(key);
    const match = /^([-+.\deE]+)\s*([A-Za-zÅµ]+)/.exec(found?.value ?? "");
    const factor = match === null ? undefined : unitFactor(kind, match[2]!);
    const value = match === null || factor === undefined ? Number.NaN : tidy(Number(match[1]) * factor * scale);
    return value > 0 ? { value, from: found!.line, asWritten: found!.value } : undefined;
  };
  const wavelength = scalar("wavelength", "length", 1e10) ?? tagWavelength(text);
  const distance = scalar("detectordistance", "length", 1);
  const countTime = scalar("exposuretime", "time", 1);
  const pixelSize = pixelSizeOf(lines.get("pixelsize"));
  const beamCentre = beamOf(lines.get("beamxy"));
  const cutoff = Number.parseFloat(lines.get("countcutoff")?.value ?? "");
  return {
    metadata: {
      ...(wavelength !== undefined && { wavelength }),
      ...(distance !== undefined && { distance }),
      ...(countTime !== undefined && { countTime }),
      ...(pixelSize !== undefined && { pixelSize }),
      ...(beamCentre !== undefined && { beamCentre }),
    },
    saturation: cutoff > 0 ? cutoff : undefined,
    notes: [...lines.values()].map(({ line }) => `header: ${line}`),
  };
}

function tagWavelength(text: string): Sourced<number> | undefined {
  const match = /_diffrn_radiation_wavelength\.wavelength\s+([-+.\deE]+)/i.exec(text);
  const value = Number(match?.[1]);
  return value > 0
    ? { value, from: "_diffrn_radiation_wavelength.wavelength", asWritten: `${match![1]} angstrom` }
    : undefined;
}

function pixelSizeOf(
  found: { value: string; line: string } | undefined,
): Sourced<readonly [number, number]> | undefined {
  const match = /^([-+.\deE]+)\s*([a-zµ]+)\s*x\s*([-+.\deE]+)\s*([a-zµ]+)/i.exec(found?.value ?? "");
  if (match === null || found === undefined) return undefined;
  const [x, y] = [
    tidy(Number(match[1]) * (unitFactor("length", match[2]!) ?? 0)),
    tidy(Number(match[3]) * (unitFactor("length", match[4]!) ?? 0)),
  ];
  return x > 0 && y > 0 ? { value: [x, y], from: found.line, asWritten: found.value } : undefined;
}

function beamOf(found: { value: string; line: string } | undefined): Sourced<readonly [number, number]> | undefined {
  const match = /^\(\s*([-+.\deE]+)\s*,\s*([-+.\deE]+)\s*\)\s*(pixels?)?/i.exec(found?.value ?? "");
  if (match === null || found === undefined) return undefined;
  const value = [Number(match[1]), Number(match[2])] as const;
  return value.every(Number.isFinite) ? { value, from: found.line, asWritten: found.value } : undefined;
}

/** 15 digits: a product of a decimal and a power of ten, without its last bit. */
function tidy(value: number): number {
  return Number(value.toPrecision(15));
}

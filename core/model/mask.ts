/** Why a pixel is left out. A mask is a Uint16Array of these bits, one entry a pixel; 0 means use it. */
export const MASK_REASONS = {
  beamStop: 1,
  dead: 2,
  hot: 4,
  edge: 8,
  gap: 16,
  saturated: 32,
  shape: 64,
  file: 128,
  notFinite: 256,
  flood: 512,
} as const;

export type MaskReason = keyof typeof MASK_REASONS;

/** The reasons in words, in the order of their bits. */
export const MASK_REASON_LABELS: Readonly<Record<MaskReason, string>> = {
  beamStop: "beam stop",
  dead: "dead",
  hot: "hot",
  edge: "edge",
  gap: "gap",
  saturated: "saturated",
  shape: "drawn shape",
  file: "mask file",
  notFinite: "not a finite number",
  flood: "flood out of range",
};

export function maskReasons(bits: number): MaskReason[] {
  return (Object.keys(MASK_REASONS) as MaskReason[]).filter((reason) => (bits & MASK_REASONS[reason]) !== 0);
}

/** ORs `from` into `into`, entry by entry. @throws RangeError where the lengths differ */
export function addMask(into: Uint16Array, from: Uint16Array): void {
  if (into.length !== from.length) throw new RangeError(`mask of ${from.length} pixels onto ${into.length}`);
  for (let p = 0; p < into.length; p++) into[p]! |= from[p]!;
}

/** Number of pixels that are left out, and the number for each reason (a pixel may have several). */
export function countMasked(mask: Uint16Array): {
  readonly total: number;
  readonly byReason: Record<MaskReason, number>;
} {
  const reasons = Object.keys(MASK_REASONS) as MaskReason[];
  const byReason = Object.fromEntries(reasons.map((reason) => [reason, 0])) as Record<MaskReason, number>;
  let total = 0;
  for (let p = 0; p < mask.length; p++) {
    const bits = mask[p]!;
    if (bits === 0) continue;
    total++;
    for (const reason of reasons) if ((bits & MASK_REASONS[reason]) !== 0) byReason[reason]++;
  }
  return { total, byReason };
}

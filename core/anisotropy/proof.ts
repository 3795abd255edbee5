/** A chance below this is taken as proof; common practice, no source. */
export const PROOF = 1e-3;

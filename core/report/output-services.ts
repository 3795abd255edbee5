import type { Hdf5TreeGroup } from "../formats/hdf5/write-tree.ts";

/** What a host lends to the writers: things that core can't do alone. */
export interface OutputServices {
  /** Needed for the kind "nxcansas". */
  readonly writeHdf5?: WriteHdf5;
  /** Needed for the kind "figures". */
  readonly rasterise?: Rasterise;
}

/** The bytes of an HDF5 file that holds `tree`. */
export type WriteHdf5 = (tree: Hdf5TreeGroup) => Promise<Uint8Array<ArrayBuffer>>;

/** Draws an SVG as PNG, 8-bit RGBA; `scale` pixels a user unit, a whole number. */
export type Rasterise = (svg: string, scale: number) => Promise<Uint8Array<ArrayBuffer>>;

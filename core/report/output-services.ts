/** What a host lends to the writers: things that core can't do alone. */
export interface OutputServices {
  /** Needed for the kind "nxcansas". */
  readonly writeHdf5?: WriteHdf5;
  /** Needed for the kind "figures". */
  readonly rasterise?: Rasterise;
}

/** Makes an HDF5 file: `fill` puts things into it, then its bytes come back. */
export type WriteHdf5 = (fill: (file: import("h5wasm").File) => void) => Promise<Uint8Array<ArrayBuffer>>;

/** Draws an SVG as PNG, 8-bit RGBA; `scale` pixels a user unit, a whole number. */
export type Rasterise = (svg: string, scale: number) => Promise<Uint8Array<ArrayBuffer>>;

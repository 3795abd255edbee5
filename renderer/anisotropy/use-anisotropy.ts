import { useResults } from "../app/application.ts";
import type { AnisotropyView } from "../worker/anisotropy-view.ts";

/** The answer of the worker, if it is of the reduction on show. */
export function useAnisotropy(): AnisotropyView | undefined {
  return useResults(({ anisotropy, reduction }) =>
    anisotropy !== undefined && anisotropy.serial === reduction?.serial ? anisotropy : undefined,
  );
}

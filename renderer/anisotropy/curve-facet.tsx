import "./anisotropy.css";
import { useResults } from "../app/application.ts";
import type { Facet } from "./facets.ts";
import { MeasuresFacet } from "./measures-facet.tsx";
import { SeriesFacet } from "./series-facet.tsx";
import { SpectrumFacet } from "./spectrum-facet.tsx";
import { useAnisotropy } from "./use-anisotropy.ts";

/** The facets that are no curves. */
export type ChartFacet = Extract<Facet, "spectrum" | "series" | "measures">;

export function isChartFacet(facet: Facet): facet is ChartFacet {
  return facet === "spectrum" || facet === "series" || facet === "measures";
}

export function CurveFacet({ facet }: { readonly facet: ChartFacet }) {
  const answer = useAnisotropy();
  const annuli = useResults(({ reduction }) => reduction?.profiles.length ?? 0);
  if (facet === "series") return <SeriesFacet />;
  if (answer === undefined)
    return (
      <p className="measure-empty" role="status">
        {annuli > 0 ? "Measuring" : "Add an annulus to the plan to measure anisotropy."}
      </p>
    );
  return facet === "spectrum" ? <SpectrumFacet answer={answer} /> : <MeasuresFacet answer={answer} />;
}

import type { SeriesAxis } from "../../core/anisotropy/series.ts";
import { describeFault } from "../../core/model/result.ts";
import { seriesFigures } from "../../core/report/anisotropy-figures.ts";
import { seriesCsv, type TabledSample } from "../../core/report/anisotropy-table.ts";
import { utf8 } from "../../core/report/text.ts";
import { useApplication, useResults } from "../app/application.ts";
import { saveFiles } from "../app/save-files.ts";

/** Saves the table of a series and its figures: the files of the command line's `--out`. */
export function useSeriesSaving(): (samples: readonly TabledSample[], axis: SeriesAxis) => Promise<void> {
  const { host, results } = useApplication();
  const title = useResults(({ reduction }) => reduction?.title ?? "");
  return async (samples, axis) => {
    const saved = await saveFiles(host, "series", [
      { path: "series.csv", bytes: utf8(seriesCsv(samples, axis)) },
      ...seriesFigures(samples, axis, title).map(({ name, svg }) => ({
        path: `figures/${name}.svg`,
        bytes: utf8(svg),
      })),
    ]);
    const { notify } = results.getState();
    if (saved.ok) notify("note", `Saved ${saved.value.savedTo}`);
    else if (saved.fault.code !== "cancelled") notify("fault", describeFault(saved.fault));
  };
}

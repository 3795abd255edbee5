import { useEffect, useState } from "react";
import { describeFault } from "../../core/model/result.ts";
import { useApplication, useResults } from "../app/application.ts";
import type { CountRange, FrameImage } from "../view-types.ts";
import type { FrameLayer } from "./facets.ts";

/** Sigmas; the colours end there. */
export const RESIDUAL_RANGE: CountRange = { low: -5, high: 5 };

/** The frame with its residual in the counts' place; undefined: counts are wanted, or the residual is not there yet. */
export function useResidual(layer: FrameLayer, image: FrameImage | undefined): FrameImage | undefined {
  const { client, results } = useApplication();
  const serial = useResults(({ reduction }) => reduction?.serial);
  const [known, setKnown] = useState<{ readonly key: string; readonly values: Float32Array }>();
  const wanted = layer === "counts" || serial === undefined ? undefined : `${serial} ${layer}`;
  useEffect(() => {
    if (layer === "counts" || wanted === undefined) return;
    let isWanted = true;
    void client.ask("residual", { part: layer }, { slot: "residual" }).then((answer) => {
      if (!isWanted) return;
      if (answer.ok) setKnown({ key: `${answer.value.serial} ${layer}`, values: answer.value.residual });
      else if (answer.fault.code !== "cancelled") results.getState().notify("fault", describeFault(answer.fault));
    });
    return () => {
      isWanted = false;
    };
  }, [client, results, layer, wanted]);
  if (image === undefined || known === undefined || known.key !== wanted) return undefined;
  if (known.values.length !== image.counts.length) return undefined;
  return { ...image, counts: known.values, quantity: "sigmas" };
}

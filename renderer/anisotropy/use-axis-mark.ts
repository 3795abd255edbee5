import { useMemo } from "react";
import { PROOF } from "../../core/anisotropy/proof.ts";
import { useDocument } from "../app/application.ts";
import type { AxisMark } from "./axis-mark.ts";
import { useAnisotropy } from "./use-anisotropy.ts";

/** The axis to draw on the frame: of the first annulus that is proved anisotropic, while the question is on. */
export function useAxisMark(): AxisMark | undefined {
  const isOn = useDocument(({ view }) => view.question === "anisotropy");
  const answer = useAnisotropy();
  return useMemo(() => {
    if (!isOn) return undefined;
    const annulus = answer?.annuli.find(({ verdict }) => verdict.verdict === "anisotropic");
    const measures = annulus?.measures;
    if (annulus === undefined || measures === undefined || !(measures.pIsotropic < PROOF)) return undefined;
    return { phi: measures.axis, sigma: measures.axisSigma, qMax: annulus.qMax };
  }, [isOn, answer]);
}

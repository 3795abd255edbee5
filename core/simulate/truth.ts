import { sphereVolume } from "../curves/sphere.ts";
import type { TabulatedSection } from "./cross-section.ts";
import type { Scene, SceneSample } from "./scene.ts";

/** Annuli in which the anisotropy of the noise-free cross-section is written down. */
const ANNULI = [
  [0.015, 0.025],
  [0.02, 0.03],
  [0.04, 0.06],
] as const;

/** What a reduction of the simulated runs must find again: the JSON of truth.json. */
export function sceneTruth(scene: Scene, seed: number, sections: ReadonlyMap<string, TabulatedSection>): unknown {
  const { camera } = scene;
  const footprint_mm =
    (camera.sourceAperture_mm / 2) * (camera.distance_m / camera.collimation_m) +
    (camera.sampleAperture_mm / 2) * (1 + camera.distance_m / camera.collimation_m);
  return {
    about: `${scene.title}: simulated, not measured. Cross-sections are without instrument.`,
    seed,
    camera: {
      distance_m: camera.distance_m,
      wavelength_A: camera.wavelength_A,
      pixelSize_mm: camera.pixelSize_mm,
      beamCentre_px: camera.beamCentre_px,
      deadTime_s: camera.deadTime_s,
      beamRate_1s: camera.beamRate_1s,
      monitorRate_1s: camera.monitorRate_1s,
      /** Neutrons counted of the open beam for each monitor count: the scale of the direct-beam method. */
      beamPerMonitor: camera.beamRate_1s / camera.monitorRate_1s,
      footprintRadius_mm: footprint_mm,
      dead_px: camera.response.dead,
      hot_px: camera.response.hot,
      beamStop: camera.stop,
    },
    cell: { transmission: scene.cell.transmission },
    samples: Object.fromEntries(
      Object.entries(scene.samples).map(([key, sample]) => [
        key,
        {
          name: sample.name,
          model: sample.model,
          thickness_mm: sample.thickness_mm,
          transmission: sample.transmission,
          transmissionInCell: sample.transmission * scene.cell.transmission,
          ...modelTruth(sample),
          anisotropy: ANNULI.map(([qMin, qMax]) =>
            annulusTruth(sections.get(key), sample.model.background_1cm, [qMin, qMax]),
          ),
        },
      ]),
    ),
    runs: scene.runs.map((run) => {
      const offset = run.stopOffset_px ?? [0, 0];
      return {
        file: run.file,
        kind: run.kind,
        ...(run.kind === "scattering" && {
          stop_px: [camera.stop.at_px[0] + offset[0], camera.stop.at_px[1] + offset[1]],
        }),
      };
    }),
  };
}

function modelTruth(sample: SceneSample): object {
  const { model } = sample;
  if (model.kind !== "spheres") return {};
  const s2 = model.sigmaLnR * model.sigmaLnR;
  const contrast2 = model.contrast_1A2 * model.contrast_1A2;
  return {
    // <V^2>/<V> and <R^8>/<R^6> of the lognormal distribution.
    forwardIntensity_1cm: model.volumeFraction * sphereVolume(model.radius_A) * contrast2 * Math.exp(13.5 * s2) * 1e8,
    radiusOfGyration_A: Math.sqrt(3 / 5) * model.radius_A * Math.exp(7 * s2),
  };
}

/**
 * Mean of cos 2(phi - axis) over the cross-section, less its constant background, in a full annulus, and the axis of
 * strongest scattering.
 */
function annulusTruth(
  section: TabulatedSection | undefined,
  background: number,
  [qMin, qMax]: readonly [number, number],
): object {
  let [sum, c2, s2] = [0, 0, 0];
  const [rings, turns] = [40, 720];
  for (let i = 0; section !== undefined && i < rings; i++) {
    const q = qMin + ((i + 0.5) * (qMax - qMin)) / rings;
    for (let j = 0; j < turns; j++) {
      const phi = (2 * Math.PI * j) / turns;
      // A ring's share of the annulus grows with its radius.
      const value = q * (section.at(q * Math.cos(phi), q * Math.sin(phi)) - background);
      sum += value;
      c2 += value * Math.cos(2 * phi);
      s2 += value * Math.sin(2 * phi);
    }
  }
  const alignment = Math.hypot(c2, s2) / sum;
  const axis = ((Math.atan2(s2, c2) * 90) / Math.PI + 180) % 180;
  return { qMin_1A: qMin, qMax_1A: qMax, alignment, axis_deg: alignment > 1e-3 ? axis : null };
}

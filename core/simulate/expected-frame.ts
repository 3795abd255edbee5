// What each pixel is expected to count, from first principles. The geometry is written out here again on purpose, in
// trigonometric form: simulated frames test core/geometry and must not share its mistakes.
import type { CrossSection } from "./cross-section.ts";
import { directBeamDensity } from "./direct-beam.ts";
import type { RandomSource } from "./random.ts";
import type { SceneCamera } from "./scene.ts";
import type { StopTransmission } from "./stop.ts";

/** Points a pixel side over which a pixel is averaged; more where the stop's edge or the beam's rim crosses it. */
const COARSE = 3;
const FINE = 9;

/** Relative response of each pixel; 0 where it is dead. Mean close to 1. */
export function responseMap(camera: SceneCamera, random: RandomSource): Float64Array {
  const { width, height, response } = camera;
  const map = new Float64Array(width * height);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const swell = Math.cos((2 * Math.PI * x) / width + 0.7) * Math.cos((1.5 * Math.PI * y) / height - 0.4);
      map[y * width + x] = Math.max(0.2, 1 + response.swell * swell + response.scatter * random.normal());
    }
  for (const [x, y] of response.dead) map[y * width + x] = 0;
  return map;
}

export interface ScatteringSetting {
  readonly camera: SceneCamera;
  readonly response: Float64Array;
  readonly time_s: number;
  /** Neutrons that reach the sample over those of the nominal beam: drift of the source. */
  readonly beamLevel: number;
  readonly attenuation: number;
  readonly stop: StopTransmission | undefined;
  /** Thickness in cm times the cross-section in 1/cm, plus the cell's yield; per steradian. */
  readonly yieldPerSr: CrossSection;
  /** Of everything in the beam. */
  readonly transmission: number;
}

/**
 * Expected counts of a run: scattering, what is left of the direct beam, ambient counts, hot pixels. Without dead time.
 *
 *   beam t [ T A(2 theta)/T domega yield + T density area ] eta stop + (ambient + hot) t
 */
export function expectedFrame(setting: ScatteringSetting): Float64Array {
  const { camera, response, time_s, stop, transmission } = setting;
  const { width, height } = camera;
  const [px, py] = [camera.pixelSize_mm[0] * 1e-3, camera.pixelSize_mm[1] * 1e-3];
  const L = camera.distance_m;
  const k = (2 * Math.PI) / camera.wavelength_A;
  const neutrons = camera.beamRate_1s * setting.beamLevel * setting.attenuation * time_s;
  const sourceImage = (camera.sourceAperture_mm * 5e-4 * L) / camera.collimation_m;
  const sampleImage = camera.sampleAperture_mm * 5e-4 * (1 + L / camera.collimation_m);
  const density = directBeamDensity(sourceImage, sampleImage);
  const beamRadius = sourceImage + sampleImage;
  const mean = new Float64Array(width * height);

  for (let row = 0; row < height; row++)
    for (let column = 0; column < width; column++) {
      const inBeam =
        Math.hypot((column - camera.beamCentre_px[0]) * px, (row - camera.beamCentre_px[1]) * py) <
        beamRadius + px + py;
      const n = inBeam || (stop !== undefined && crossesEdge(stop, column, row)) ? FINE : COARSE;
      let sum = 0;
      for (let j = 0; j < n; j++)
        for (let i = 0; i < n; i++) {
          const [cx, cy] = [column + (i + 0.5) / n - 0.5, row + (j + 0.5) / n - 0.5];
          const x = (cx - camera.beamCentre_px[0]) * px;
          const y = (cy - camera.beamCentre_px[1]) * py;
          const rho = Math.hypot(x, y);
          const twoTheta = Math.atan2(rho, L);
          const q = 2 * k * Math.sin(twoTheta / 2);
          const inPlane = rho > 0 ? (q * Math.cos(twoTheta / 2)) / rho : 0;
          const solidAngle = (px * py * Math.cos(twoTheta) ** 3) / (L * L);
          const scattered =
            solidAngle * obliqueTransmission(transmission, twoTheta) * setting.yieldPerSr(x * inPlane, y * inPlane);
          const unscattered = transmission * density(rho) * px * py;
          sum += (scattered + unscattered) * (stop === undefined ? 1 : stop(cx, cy));
        }
      const p = row * width + column;
      mean[p] = neutrons * response[p]! * (sum / (n * n));
    }
  addAmbient(mean, camera, response, time_s);
  return mean;
}

/** Counts that come without the beam; a dead pixel has none, a hot one many. */
export function addAmbient(mean: Float64Array, camera: SceneCamera, response: Float64Array, time_s: number): void {
  for (let p = 0; p < mean.length; p++) if (response[p]! > 0) mean[p]! += camera.ambientRate_1s * time_s;
  for (const [x, y] of camera.response.hot) mean[y * camera.width + x]! += camera.response.hotRate_1s * time_s;
}

/** Expected counts of an evenly scattering plate (thin, so that its own transmission is 1). */
export function floodFrame(camera: SceneCamera, response: Float64Array, rate_1s: number, time_s: number): Float64Array {
  const mean = new Float64Array(camera.width * camera.height);
  const [px, py] = [camera.pixelSize_mm[0] * 1e-3, camera.pixelSize_mm[1] * 1e-3];
  for (let row = 0; row < camera.height; row++)
    for (let column = 0; column < camera.width; column++) {
      const x = (column - camera.beamCentre_px[0]) * px;
      const y = (row - camera.beamCentre_px[1]) * py;
      const twoTheta = Math.atan2(Math.hypot(x, y), camera.distance_m);
      const p = row * camera.width + column;
      mean[p] = rate_1s * time_s * response[p]! * Math.cos(twoTheta) ** 3;
    }
  addAmbient(mean, camera, response, time_s);
  return mean;
}

/** Registered over expected for a non-paralysable counter of the whole bank: 1/(1 + n tau). */
export function liveFraction(mean: Float64Array, time_s: number, deadTime_s: number): number {
  let total = 0;
  for (const value of mean) total += value;
  return 1 / (1 + (total / time_s) * deadTime_s);
}

/** T averaged over the depth at which a neutron scatters, by Simpson's rule: integral of T^(z + (1 - z) sec 2theta). */
function obliqueTransmission(transmission: number, twoTheta: number): number {
  const lnT = Math.log(transmission);
  const sec = 1 / Math.cos(twoTheta);
  let sum = 0;
  for (let i = 0; i <= 4; i++) {
    const z = i / 4;
    sum += [1, 4, 2, 4, 1][i]! * Math.exp(lnT * (z + (1 - z) * sec));
  }
  return sum / 12;
}

function crossesEdge(stop: StopTransmission, x: number, y: number): boolean {
  let [low, high] = [1, 0];
  for (const dx of [-0.5, 0, 0.5])
    for (const dy of [-0.5, 0, 0.5]) {
      const passed = stop(x + dx, y + dy);
      low = Math.min(low, passed);
      high = Math.max(high, passed);
    }
  return high - low > 1e-3;
}

import { absolute } from "./absolute.ts";
import { background } from "./background.ts";
import { blockedBeam } from "./blocked-beam.ts";
import type { Correction } from "./correction.ts";
import { deadTime } from "./dead-time.ts";
import { detectorAbsorption } from "./detector-absorption.ts";
import { emptyCell } from "./empty-cell.ts";
import { flood } from "./flood.ts";
import { mask } from "./mask.ts";
import { normalise } from "./normalise.ts";
import { solidAngle } from "./solid-angle.ts";
import { thickness } from "./thickness.ts";
import { transmission } from "./transmission.ts";

/**
 * The order is physics; move an entry only with a source. Pauw et al. 2017, J. Appl. Cryst. 50, 1800 (modular
 * sequence); Brulet et al. 2007, J. Appl. Cryst. 40, 165 and Glinka et al. 1998, J. Appl. Cryst. 31, 430 (neutrons).
 */
export const CORRECTIONS: readonly Correction[] = [
  mask,
  deadTime,
  blockedBeam,
  normalise,
  flood,
  detectorAbsorption,
  solidAngle,
  transmission,
  emptyCell,
  thickness,
  absolute,
  background,
];

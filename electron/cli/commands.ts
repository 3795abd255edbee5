import { anisotropy } from "./anisotropy.ts";
import { beamstop } from "./beamstop.ts";
import type { Command } from "./command.ts";
import { look } from "./curves/look.ts";
import { merge } from "./curves/merge.ts";
import { rebin } from "./curves/rebin.ts";
import { scale } from "./curves/scale.ts";
import { subtract } from "./curves/subtract.ts";
import { inspect } from "./inspect.ts";
import { reduce } from "./reduce.ts";
import { simulate } from "./simulate.ts";
import { watch } from "./watch.ts";

/** Every command, in the order of the help page. A new one is a file and a line here. */
export const COMMANDS: readonly Command[] = [
  reduce,
  inspect,
  beamstop,
  anisotropy,
  watch,
  merge,
  subtract,
  rebin,
  scale,
  look,
  simulate,
];

import { failure, type Result, success } from "../../core/model/result.ts";
import type { StopLimits } from "../../core/plan/assess-stop.ts";
import type { CommandOption, CommandValues } from "./command.ts";

/** What `beamstop` and `watch` may hold the rates against. */
export const LIMIT_OPTIONS = {
  "max-pixel-rate": { type: "string", placeholder: "R", help: "most that the hottest pixel may count, 1/s" },
  "max-total-rate": { type: "string", placeholder: "R", help: "most that the detector may count, 1/s" },
} as const satisfies Readonly<Record<string, CommandOption>>;

export function readLimits(given: CommandValues): Result<StopLimits> {
  const pixel = positiveOption(given, "max-pixel-rate");
  if (!pixel.ok) return pixel;
  const total = positiveOption(given, "max-total-rate");
  if (!total.ok) return total;
  return success({
    ...(pixel.value !== undefined && { hottestPixelRate: pixel.value }),
    ...(total.value !== undefined && { totalRate: total.value }),
  });
}

/** A number > 0 that an option gives; undefined: the option is not there. */
export function positiveOption(given: CommandValues, name: string): Result<number | undefined> {
  const text = given.values.get(name);
  if (text === undefined) return success(undefined);
  const value = Number(text);
  return value > 0 && value < Infinity
    ? success(value)
    : failure("out-of-range", `--${name} must be a number > 0; found "${text}"`, { field: `--${name}` });
}

import { realpathSync, statSync } from "node:fs";
import { dirname, isAbsolute, resolve } from "node:path";
import { failure, type Result, success } from "../../core/model/result.ts";
import { hasErrorCode } from "./io-fault.ts";
import { isInside } from "./safe-path.ts";

const OUTSIDE = "links are followed only to files inside the folder of this one";

/**
 * Where a file is that an HDF5 file names in a link: inside the folder of `main` with all links of the file system
 * resolved, and not `main` itself.
 *
 * @param main the file that was opened
 * @param from the file whose link it is: `main`, or one that a link led to
 */
export function findBeside(main: string, from: string, fileName: string): Result<string> {
  // "%b" stands for a number in names of virtual datasets: a series of files that can't be checked here.
  if (isAbsolute(fileName) || /[\\\0]|^[a-z]:|%/i.test(fileName)) return failure("unsupported", OUTSIDE);
  const folder = realpathSync(dirname(main));
  const wanted = resolve(realpathSync(dirname(from)), fileName);
  // Before any look at the disk: what lies outside must not even be told to exist.
  if (!isInside(folder, wanted)) return failure("unsupported", OUTSIDE);
  try {
    const found = realpathSync(wanted);
    if (!isInside(folder, found)) return failure("unsupported", OUTSIDE);
    if (found === realpathSync(main)) return failure("inconsistent", "that is the file itself");
    if (!statSync(found).isFile()) return failure("unsupported", "that is not a file");
    return success(found);
  } catch (error) {
    if (!hasErrorCode(error)) throw error;
    return failure("missing", "there is no such file beside it");
  }
}

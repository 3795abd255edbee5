import { useApplication } from "../app/application.ts";
import { runCommand } from "../app/commands.ts";

/** The way from a step to the runs that its number was measured with. */
export function ShowBeams() {
  const application = useApplication();
  return (
    <button type="button" className="text-button" onClick={() => runCommand("direct-beams", application)}>
      Show the direct beams
    </button>
  );
}

import { useDocument } from "../app/application.ts";
import { type Read, useReadFrame } from "../flip/use-read-frame.ts";
import { type SecondChoice, secondReference } from "./second-choice.ts";

/** The counts of the second frame. */
export function useSecondFrame(choice: SecondChoice | undefined): Read | undefined {
  const tree = useDocument(({ history }) => history?.present);
  return useReadFrame(tree === undefined || choice === undefined ? undefined : secondReference(tree, choice));
}

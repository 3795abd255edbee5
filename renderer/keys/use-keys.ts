import { useMemo } from "react";
import { useDocument } from "../app/application.ts";
import { COMMANDS } from "../app/commands.ts";
import { keyTable } from "./key-table.ts";

/** The keys that each command has now, by its id. */
export function useKeys(): (id: string) => string | undefined {
  const chosen = useDocument(({ view }) => view.keys);
  return useMemo(() => {
    const table = keyTable(COMMANDS, chosen);
    return (id) => table.get(id);
  }, [chosen]);
}

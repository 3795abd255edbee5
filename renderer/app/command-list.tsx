import { Autocomplete } from "@base-ui/react/autocomplete";
import { Dialog } from "@base-ui/react/dialog";
import { Search } from "lucide-react";
import { useRef } from "react";
import { useKeys } from "../keys/use-keys.ts";
import { useApplication, useDocument } from "./application.ts";
import { COMMANDS, type Command, isEnabled } from "./commands.ts";
import { Keys } from "./parts/keys.tsx";

/** Every command by its words; Enter runs the marked one. */
export function CommandList() {
  const application = useApplication();
  const keysOf = useKeys();
  const isOpen = useDocument(({ view }) => view.sheet === "commands");
  const show = (open: boolean) => application.document.getState().show({ sheet: open ? "commands" : undefined });
  const search = useRef<HTMLInputElement>(null);
  /** At once, where the dialog would wait for the next picture: the first letters may be typed before it. */
  const focusSearch = () => {
    search.current?.focus();
    return search.current;
  };
  const commands = COMMANDS.filter((command) => isEnabled(command, application));
  const groups = [...new Set(commands.map(({ group }) => group))].map((group) => ({
    value: group,
    items: commands.filter((command) => command.group === group),
  }));

  return (
    <Dialog.Root open={isOpen} onOpenChange={show}>
      <Dialog.Portal>
        <Dialog.Backdrop className="backdrop" />
        <Dialog.Popup className="command-list" aria-label="Commands" initialFocus={focusSearch}>
          <Autocomplete.Root
            open
            inline
            items={groups}
            autoHighlight="always"
            keepHighlight
            itemToStringValue={(command: Command) => `${command.group} ${command.title}`}
          >
            <div className="command-search">
              <Search size={16} aria-hidden />
              <Autocomplete.Input
                ref={search}
                className="command-input"
                aria-label="Search commands"
                placeholder="What shall be done?"
              />
            </div>
            <Autocomplete.Empty>
              <div className="command-none">No command has these words.</div>
            </Autocomplete.Empty>
            <Autocomplete.List className="command-items">
              {(group: (typeof groups)[number]) => (
                <Autocomplete.Group key={group.value} items={group.items}>
                  <Autocomplete.GroupLabel className="command-group">{group.value}</Autocomplete.GroupLabel>
                  <Autocomplete.Collection>
                    {(command: Command) => (
                      <Autocomplete.Item
                        key={command.id}
                        value={command}
                        className="command-item"
                        onClick={() => {
                          show(false);
                          command.run(application);
                        }}
                      >
                        <span>{command.title}</span>
                        <Keys keys={keysOf(command.id)} />
                      </Autocomplete.Item>
                    )}
                  </Autocomplete.Collection>
                </Autocomplete.Group>
              )}
            </Autocomplete.List>
          </Autocomplete.Root>
        </Dialog.Popup>
      </Dialog.Portal>
    </Dialog.Root>
  );
}

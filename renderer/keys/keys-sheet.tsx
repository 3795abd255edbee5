import "./keys.css";
import { Dialog } from "@base-ui/react/dialog";
import { RotateCcw, Trash2, X } from "lucide-react";
import { type KeyboardEvent, type ReactNode, type RefObject, useRef, useState } from "react";
import { useApplication, useDocument } from "../app/application.ts";
import { COMMANDS, type Command } from "../app/commands.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import { IS_MAC, Keys, keysInWords } from "../app/parts/keys.tsx";
import { pressedKeys } from "./key-press.ts";
import { refusalOf, warningOf } from "./key-rules.ts";
import { type ChosenKeys, holderOf, keyTable, withKeys } from "./key-table.ts";

/** Every command with its keys, and a way to choose others. */
export function KeysSheet() {
  const { document } = useApplication();
  const isOpen = useDocument(({ view }) => view.sheet === "keys");
  const search = useRef<HTMLInputElement>(null);
  return (
    <Dialog.Root open={isOpen} onOpenChange={(open) => document.getState().show({ sheet: open ? "keys" : undefined })}>
      <Dialog.Portal>
        <Dialog.Backdrop className="backdrop" />
        <Dialog.Popup className="sheet keys-sheet" initialFocus={search}>
          <Content search={search} />
        </Dialog.Popup>
      </Dialog.Portal>
    </Dialog.Root>
  );
}

/** What the sheet says about the last press. */
interface Said {
  readonly words: string;
  readonly isFault: boolean;
  /** Keys that another command has, and who wants them. */
  readonly wish?: { readonly id: string; readonly keys: string };
}

function Content({ search }: { readonly search: RefObject<HTMLInputElement | null> }) {
  const { document } = useApplication();
  const chosen = useDocument(({ view }) => view.keys);
  const [words, setWords] = useState("");
  const [listening, setListening] = useState<string>();
  const [said, setSaid] = useState<Said>();
  const table = keyTable(COMMANDS, chosen);
  const shown = COMMANDS.filter(({ id, group, title }) =>
    matches(`${group} ${title} ${inWords(table.get(id))}`, words),
  );
  const keep = (keys: ChosenKeys) => document.getState().show({ keys });

  const give = (id: string, keys: string) => {
    keep(withKeys(COMMANDS, chosen, id, keys));
    setListening(undefined);
    const now = keys === "" ? "has no keys now" : `now has ${keysInWords(keys)}`;
    const warning = warningOf(keys);
    setSaid({ words: `“${titleOf(id)}” ${now}${warning === undefined ? "" : `: ${warning}`}.`, isFault: false });
  };
  /** Gives the keys, or asks where another command has them. */
  const wish = (id: string, keys: string) => {
    const holder = keys === "" ? undefined : holderOf(COMMANDS, chosen, keys, id);
    if (holder === undefined) return give(id, keys);
    setListening(undefined);
    setSaid({ words: `${keysInWords(keys)} belongs to “${holder.title}”.`, isFault: true, wish: { id, keys } });
  };
  const hear = (id: string, keys: string) => {
    const refusal = refusalOf(keys);
    if (refusal === undefined) return wish(id, keys);
    setSaid({ words: `${keysInWords(keys)} stays as it is: ${refusal}. Press other keys.`, isFault: true });
  };
  const listen = (id: string | undefined) => {
    setListening(id);
    setSaid(undefined);
  };
  const answer = (id: string, then: () => void) => {
    then();
    window.document.getElementById(changeButton(id))?.focus();
  };

  return (
    <>
      <header className="sheet-head">
        <Dialog.Title className="sheet-title">Keys</Dialog.Title>
        <Dialog.Description className="sheet-words">
          Choose the keys of a command and press others. They are kept for the next start.
        </Dialog.Description>
        <IconButton
          icon={RotateCcw}
          label="All as at first"
          disabled={Object.keys(chosen).length === 0}
          onClick={() => {
            keep({});
            setSaid({ words: "Every command has the keys that it came with.", isFault: false });
          }}
        >
          All as at first
        </IconButton>
        <Dialog.Close className="icon-button" aria-label="Close">
          <X size={16} strokeWidth={1.75} aria-hidden />
        </Dialog.Close>
      </header>
      <input
        ref={search}
        className="number-input keys-search"
        type="text"
        aria-label="Search commands and keys"
        placeholder="Words of a command, or its keys"
        value={words}
        onChange={(event) => setWords(event.currentTarget.value)}
      />
      <div className={said?.isFault ? "keys-said fault" : "keys-said"} role="status">
        <span>{said?.words}</span>
        {said?.wish !== undefined && (
          <Answers
            onTake={() => answer(said.wish?.id ?? "", () => give(said.wish?.id ?? "", said.wish?.keys ?? ""))}
            onLeave={() => answer(said.wish?.id ?? "", () => setSaid(undefined))}
          />
        )}
      </div>
      <div className="keys-scroll">
        {shown.length === 0 && <p className="sheet-words">No command has these words or keys.</p>}
        {[...new Set(shown.map(({ group }) => group))].map((group) => (
          <section key={group} aria-label={group}>
            <h3 className="command-group">{group}</h3>
            <ul>
              {shown
                .filter((command) => command.group === group)
                .map((command) => (
                  <Row
                    key={command.id}
                    command={command}
                    keys={table.get(command.id)}
                    isChanged={Object.hasOwn(chosen, command.id)}
                    isListening={listening === command.id}
                    onListen={(on) => listen(on ? command.id : undefined)}
                    onPress={(keys) => hear(command.id, keys)}
                    onGive={(keys) => wish(command.id, keys)}
                  />
                ))}
            </ul>
          </section>
        ))}
      </div>
    </>
  );
}

function Answers({ onTake, onLeave }: { readonly onTake: () => void; readonly onLeave: () => void }): ReactNode {
  return (
    <>
      <button type="button" className="text-button" ref={(button) => button?.focus()} onClick={onTake}>
        Take them from there
      </button>
      <button type="button" className="text-button" onClick={onLeave}>
        Leave them there
      </button>
    </>
  );
}

function Row({
  command,
  keys,
  isChanged,
  isListening,
  onListen,
  onPress,
  onGive,
}: {
  readonly command: Command;
  readonly keys: string | undefined;
  readonly isChanged: boolean;
  readonly isListening: boolean;
  readonly onListen: (on: boolean) => void;
  readonly onPress: (keys: string) => void;
  readonly onGive: (keys: string) => void;
}) {
  const { id, title } = command;
  const press = (event: KeyboardEvent) => {
    if (!isListening) return;
    const pressed = pressedKeys(event, IS_MAC);
    // Tab goes on to the next control, as everywhere.
    if (pressed === "Tab" || pressed === "Shift+Tab") return onListen(false);
    event.preventDefault();
    event.stopPropagation();
    if (pressed === "Escape") onListen(false);
    else if (pressed !== undefined) onPress(pressed);
  };
  return (
    <li className="keys-row" data-command={id}>
      <span>{title}</span>
      <button
        type="button"
        id={changeButton(id)}
        className={isListening ? "keys-change listening" : "keys-change"}
        aria-label={isListening ? `Press the new keys for ${title}` : `Keys of ${title}: ${inWords(keys)}`}
        onClick={() => onListen(!isListening)}
        onBlur={() => isListening && onListen(false)}
        onKeyDown={press}
      >
        {isListening ? "press keys, or Esc" : keys === undefined ? <span aria-hidden>–</span> : <Keys keys={keys} />}
      </button>
      <IconButton
        icon={Trash2}
        label={`No keys for ${title}`}
        hint="No keys"
        disabled={keys === undefined}
        onClick={() => onGive("")}
      />
      <IconButton
        icon={RotateCcw}
        label={`${title}: the keys it came with`}
        hint={command.keys === undefined ? "It came without keys" : `It came with ${keysInWords(command.keys)}`}
        disabled={!isChanged}
        onClick={() => onGive(command.keys ?? "")}
      />
    </li>
  );
}

function changeButton(id: string): string {
  return `keys-of-${id}`;
}

function titleOf(id: string): string {
  return COMMANDS.find((command) => command.id === id)?.title ?? id;
}

function inWords(keys: string | undefined): string {
  return keys === undefined ? "none" : keysInWords(keys);
}

function matches(text: string, words: string): boolean {
  const within = text.toLowerCase();
  return words
    .toLowerCase()
    .split(/\s+/)
    .every((word) => within.includes(word));
}

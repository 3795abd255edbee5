import { Input } from "@base-ui/react/input";
import { Popover } from "@base-ui/react/popover";
import { FolderSync, History, SlidersHorizontal, Square, Undo2 } from "lucide-react";
import { type FormEvent, useState } from "react";
import type { StopLimits } from "../../core/plan/assess-stop.ts";
import { useApplication, useBeamStop, useDocument } from "../app/application.ts";
import { runCommand } from "../app/commands.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import { NumberBox } from "../app/parts/number-box.tsx";
import { ToggleRow } from "../app/parts/toggle-row.tsx";
import { useKeys } from "../keys/use-keys.ts";
import { mayNotify } from "./verdict-change.ts";

/** Starts and ends the watch of a folder, and tells how it stands. */
export function WatchBar() {
  const application = useApplication();
  const keysOf = useKeys();
  const { beamStop } = application;
  const watch = useBeamStop((state) => state.watch);
  const watched = useBeamStop((state) => state.watched);
  const resumable = useBeamStop((state) => state.resumable);
  const asksFolder = useBeamStop((state) => state.asksFolder);
  return (
    <div className="watch-bar">
      {watch === undefined ? (
        <IconButton
          icon={FolderSync}
          label="Watch a folder"
          hint="Watch a folder: each frame that comes updates image, curve and verdict"
          keys={keysOf("watch-folder")}
          onClick={() => runCommand("watch-folder", application)}
        >
          Watch a folder
        </IconButton>
      ) : (
        <IconButton icon={Square} label="Stop watching" onClick={() => runCommand("stop-watching", application)}>
          Stop
        </IconButton>
      )}
      {watch === undefined && resumable !== undefined && resumable.frames > 0 && (
        <IconButton
          icon={History}
          label={`Go on watching ${resumable.label}`}
          hint={`Go on with ${resumable.label}, where ${resumable.frames} frames were judged: the trend comes back, and only new frames are judged`}
          onClick={() => runCommand("resume-watch", application)}
        >
          Go on with {resumable.label} ({resumable.frames})
        </IconButton>
      )}
      {watch !== undefined && (
        <span className={watch.trouble === undefined ? "watch-words" : "watch-words trouble"} role="status">
          {watch.trouble === undefined ? `Watching ${watch.label}` : `${watch.trouble}; waiting for it`}
          {watch.waiting > 0 && `, ${watch.waiting} frames behind`}
        </span>
      )}
      {watched !== undefined && <span className="watch-words">{watched.name}</span>}
      {watch === undefined && watched !== undefined && (
        <IconButton icon={Undo2} label="Back to the plan's sample" onClick={() => beamStop.watch.backToPlan()}>
          Back to the plan's sample
        </IconButton>
      )}
      {asksFolder && watch === undefined && <FolderField />}
      <Settings />
    </div>
  );
}

/** For a host without a dialog. */
function FolderField() {
  const { beamStop } = useApplication();
  const [folder, setFolder] = useState("");
  const submit = (event: FormEvent) => {
    event.preventDefault();
    if (folder.trim() !== "") void beamStop.watch.start(folder.trim());
  };
  return (
    <form className="watch-folder" onSubmit={submit}>
      <Input
        className="number-input watch-folder-name"
        aria-label="Folder to watch, inside the folder that the program was started in"
        placeholder="folder, from where the program was started"
        value={folder}
        onValueChange={setFolder}
        autoFocus
        spellCheck={false}
      />
      <button type="submit" className="text-button">
        Watch
      </button>
    </form>
  );
}

function Settings() {
  const { document } = useApplication();
  const limits = useDocument(({ view }) => view.stopLimits);
  const sound = useDocument(({ view }) => view.stopSound);
  const notice = useDocument(({ view }) => view.stopNotice);
  const [refused, setRefused] = useState(false);
  const { show } = document.getState();
  const setLimit = (key: keyof StopLimits, value: number | undefined) => {
    const { [key]: _old, ...rest } = limits;
    show({ stopLimits: value === undefined ? rest : { ...rest, [key]: value } });
  };
  const setNotice = async (on: boolean) => {
    const allowed = !on || (await mayNotify());
    setRefused(!allowed);
    show({ stopNotice: on && allowed });
  };
  return (
    <Popover.Root>
      <Popover.Trigger className="icon-button with-words" aria-label="Limits and signals">
        <SlidersHorizontal size={16} strokeWidth={1.75} aria-hidden />
        Limits and signals
      </Popover.Trigger>
      <Popover.Portal>
        <Popover.Positioner className="floating-positioner" sideOffset={6} side="top">
          <Popover.Popup className="step-details stop-settings">
            <Popover.Title className="details-title">Limits and signals</Popover.Title>
            <NumberBox
              label="Hottest pixel"
              unit="1/s"
              placeholder="no limit"
              value={limits.hottestPixelRate}
              allows={(value) => value > 0}
              onChange={(value) => setLimit("hottestPixelRate", value)}
              onClear={() => setLimit("hottestPixelRate", undefined)}
            />
            <NumberBox
              label="Whole detector"
              unit="1/s"
              placeholder="no limit"
              value={limits.totalRate}
              allows={(value) => value > 0}
              onChange={(value) => setLimit("totalRate", value)}
              onClear={() => setLimit("totalRate", undefined)}
            />
            <ToggleRow
              label="Sound when the verdict changes"
              on={sound}
              onChange={(stopSound) => show({ stopSound })}
            />
            <ToggleRow
              label="Notice of the system when it changes"
              note={refused ? "this system does not allow it" : undefined}
              on={notice}
              onChange={(on) => void setNotice(on)}
            />
          </Popover.Popup>
        </Popover.Positioner>
      </Popover.Portal>
    </Popover.Root>
  );
}

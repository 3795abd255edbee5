import { Menu } from "@base-ui/react/menu";
import {
  Command as CommandIcon,
  Download,
  FolderOpen,
  Monitor,
  Moon,
  PanelLeft,
  Redo2,
  Ruler,
  Sun,
  Undo2,
} from "lucide-react";
import { useKeys } from "../keys/use-keys.ts";
import { baseName } from "../state/plan-file.ts";
import { referencePath, samplesOf } from "../state/plan-reading.ts";
import { THEMES } from "../state/view-settings.ts";
import { useApplication, useDocument, useResults } from "./application.ts";
import { COMMANDS, isEnabled, runCommand, THEME_TITLES } from "./commands.ts";
import { Hint } from "./parts/hint.tsx";
import { IconButton } from "./parts/icon-button.tsx";
import { Keys } from "./parts/keys.tsx";

const THEME_ICONS = { system: Monitor, dark: Moon, light: Sun };

export function TopBar() {
  const application = useApplication();
  const keysOf = useKeys();
  const title = useDocument(({ history }) => history?.present.plan.title);
  const reduced = useResults(({ reduction }) => reduction?.sampleFile);
  const named = useDocument(({ history, view }) => history && samplesOf(history.present.plan)[view.sampleIndex]);
  const sample = reduced ?? (named === undefined ? undefined : baseName(referencePath(named)));
  const undoLabel = useDocument(({ history }) => history?.past.at(-1)?.label);
  const redoLabel = useDocument(({ history }) => history?.future[0]?.label);
  const theme = useDocument(({ view }) => view.theme);
  const sideOpen = useDocument(({ view }) => view.sideOpen);
  const isSample = useDocument(({ isSampleExperiment }) => isSampleExperiment);
  const run = (id: string) => () => runCommand(id, application);
  const nextTheme = THEMES[(THEMES.indexOf(theme) + 1) % THEMES.length] ?? "system";

  return (
    <header className="top-bar">
      <IconButton
        icon={PanelLeft}
        label={sideOpen ? "Hide the side panel" : "Show the side panel"}
        keys={keysOf("side-panel")}
        onClick={run("side-panel")}
        pressed={sideOpen}
      />
      <h1 className="document-title">
        {title ?? sample ?? "Halation"}
        {title !== undefined && sample !== undefined && <span className="document-file">{sample}</span>}
        {isSample && <span className="document-note">sample experiment</span>}
      </h1>
      <Working />
      <div className="top-tools">
        <IconButton
          icon={FolderOpen}
          label="Open"
          hint="Open a frame or a plan"
          keys={keysOf("open")}
          onClick={run("open")}
        >
          Open
        </IconButton>
        <ExportMenu />
        <span className="bar-gap" />
        <IconButton
          icon={Undo2}
          label="Undo"
          hint={undoLabel === undefined ? "Nothing to undo" : `Undo: ${undoLabel}`}
          keys={keysOf("undo")}
          onClick={run("undo")}
          disabled={undoLabel === undefined}
        />
        <IconButton
          icon={Redo2}
          label="Redo"
          hint={redoLabel === undefined ? "Nothing to redo" : `Redo: ${redoLabel}`}
          keys={keysOf("redo")}
          onClick={run("redo")}
          disabled={redoLabel === undefined}
        />
        <span className="bar-gap" />
        <IconButton
          icon={Ruler}
          label="Camera reach"
          hint="Camera reach: which settings see which sizes"
          keys={keysOf("reach")}
          onClick={run("reach")}
        />
        <IconButton
          icon={CommandIcon}
          label="Commands"
          hint="All commands"
          keys={keysOf("commands")}
          onClick={run("commands")}
        />
        <IconButton
          icon={THEME_ICONS[theme]}
          label={`Colours: ${THEME_TITLES[theme].toLowerCase()}`}
          onClick={run(`theme-${nextTheme}`)}
        />
      </div>
    </header>
  );
}

function Working() {
  const application = useApplication();
  const working = useResults((state) => state.working);
  if (working === undefined) return <span className="working" />;
  return (
    <span className="working" role="status">
      <progress className="working-bar" value={working.fraction} max={1} aria-label={working.label} />
      {working.label}
      <button type="button" className="text-button" onClick={() => application.cancelWork()}>
        Cancel
      </button>
    </span>
  );
}

function ExportMenu() {
  const application = useApplication();
  const keysOf = useKeys();
  const ready = useResults(({ reduction }) => reduction !== undefined);
  const entries = COMMANDS.filter(({ id }) => id.startsWith("export-") || id.startsWith("copy-") || id === "save-plan");
  return (
    <Menu.Root>
      <Hint text={ready ? "Save or copy curves, figures and the plan" : "Nothing to save yet"}>
        <Menu.Trigger className="icon-button with-words" disabled={!ready}>
          <Download size={16} strokeWidth={1.75} aria-hidden />
          Export
        </Menu.Trigger>
      </Hint>
      <Menu.Portal>
        <Menu.Positioner className="floating-positioner" sideOffset={4} align="end">
          <Menu.Popup className="menu">
            {entries.map((command) => (
              <Menu.Item
                key={command.id}
                className="menu-item"
                disabled={!isEnabled(command, application)}
                onClick={() => command.run(application)}
              >
                <span className="menu-words">{command.title}</span>
                <Keys keys={keysOf(command.id)} />
              </Menu.Item>
            ))}
          </Menu.Popup>
        </Menu.Positioner>
      </Menu.Portal>
    </Menu.Root>
  );
}

import { CSPProvider } from "@base-ui/react/csp-provider";
import { Tooltip } from "@base-ui/react/tooltip";
import { type DragEvent, useEffect, useState } from "react";
import { StopStrip } from "../beam-stop/stop-strip.tsx";
import { CurvesStrip } from "../curves-question/curves-strip.tsx";
import { GuideStrip } from "../guide/guide-strip.tsx";
import { KeysSheet } from "../keys/keys-sheet.tsx";
import { useKeys } from "../keys/use-keys.ts";
import { CurvePane } from "../panels/curve-pane.tsx";
import { FramePane } from "../panels/frame-pane.tsx";
import { LedgerStrip } from "../panels/ledger-strip.tsx";
import { SidePanel } from "../panels/side-panel.tsx";
import { ReachSheet } from "../reach/reach-sheet.tsx";
import { type Application, ApplicationProvider, useApplication, useDocument } from "./application.ts";
import { CommandList } from "./command-list.tsx";
import { runCommand } from "./commands.ts";
import { Notices } from "./notices.tsx";
import { Keys } from "./parts/keys.tsx";
import { QuestionBand } from "./question-band.tsx";
import { Questions } from "./questions.tsx";
import { Split } from "./split.tsx";
import { TopBar } from "./top-bar.tsx";
import { useShortcuts } from "./use-shortcuts.ts";

/** Milliseconds until a tooltip shows: long enough not to flicker under a moving pointer. */
const HINT_DELAY = 400;

export function App({ application }: { readonly application: Application }) {
  return (
    <CSPProvider disableStyleElements>
      <ApplicationProvider value={application}>
        <Tooltip.Provider delay={HINT_DELAY}>
          <Window />
        </Tooltip.Provider>
      </ApplicationProvider>
    </CSPProvider>
  );
}

function Window() {
  const application = useApplication();
  const sideOpen = useDocument(({ view }) => view.sideOpen);
  const isOpen = useDocument(({ history }) => history !== undefined);
  useShortcuts(application);
  useTheme();
  const drop = useDrop();

  return (
    <div className={drop.isOver ? "window dropping" : "window"} {...drop.handlers}>
      <TopBar />
      <Questions />
      <GuideStrip />
      <Notices />
      <div className="body">
        {sideOpen && <SidePanel />}
        <main className="stage">
          {isOpen ? (
            <>
              <QuestionBand />
              <Split left={<FramePane />} right={<CurvePane />} />
              <StopStrip />
              <CurvesStrip />
            </>
          ) : (
            <>
              <Welcome />
              <StopStrip />
            </>
          )}
        </main>
      </div>
      <LedgerStrip />
      <CommandList />
      <KeysSheet />
      <ReachSheet />
    </div>
  );
}

function Welcome() {
  const application = useApplication();
  const keysOf = useKeys();
  return (
    <div className="welcome">
      <h2>Open a detector frame</h2>
      <p>
        Drop a frame on the window, or a plan together with the frames that it names. The frame appears on the left, the
        curve that it becomes on the right, and every step between them in the ledger below.
      </p>
      <button type="button" className="main-button" onClick={() => runCommand("open", application)}>
        Open a file <Keys keys={keysOf("open")} />
      </button>
    </div>
  );
}

function useTheme(): void {
  const theme = useDocument(({ view }) => view.theme);
  useEffect(() => {
    if (theme === "system") delete document.documentElement.dataset["theme"];
    else document.documentElement.dataset["theme"] = theme;
  }, [theme]);
}

/** Files dropped anywhere on the window open. */
function useDrop() {
  const { opening } = useApplication();
  const [isOver, setIsOver] = useState(false);
  const hasFiles = (event: DragEvent) => event.dataTransfer.types.includes("Files");
  return {
    isOver,
    handlers: {
      onDragOver: (event: DragEvent) => {
        if (!hasFiles(event)) return;
        event.preventDefault();
        setIsOver(true);
      },
      onDragLeave: (event: DragEvent) => {
        if (!event.currentTarget.contains(event.relatedTarget as Node | null)) setIsOver(false);
      },
      onDrop: (event: DragEvent) => {
        if (!hasFiles(event)) return;
        event.preventDefault();
        setIsOver(false);
        void opening.openDropped([...event.dataTransfer.files]);
      },
    },
  };
}

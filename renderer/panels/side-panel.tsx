import { Tabs } from "@base-ui/react/tabs";
import { useDocument } from "../app/application.ts";
import { TransmissionPanel } from "../direct-beams/transmission-panel.tsx";
import type { SideTab } from "../state/view-settings.ts";
import { AveragesPanel } from "./averages-panel.tsx";
import { CentrePanel } from "./centre-panel.tsx";
import { CorrectionsPanel } from "./corrections-panel.tsx";
import { MaskPanel } from "./mask-panel.tsx";
import { MetadataPanel } from "./metadata-panel.tsx";
import { RunsPanel } from "./runs-panel.tsx";

/** Left of the frame: the runs and their numbers, the plan that makes curves of them, or the direct beams. */
export function SidePanel() {
  const tab = useDocument(({ view }) => view.sideTab);
  const show = useDocument((state) => state.show);
  const hasPlan = useDocument(({ history }) => history !== undefined);
  return (
    <Tabs.Root
      className="side-panel"
      value={tab}
      onValueChange={(next: SideTab) => show({ sideTab: next })}
      render={<aside aria-label="Runs and plan" />}
    >
      <Tabs.List className="side-tabs">
        <Tabs.Tab className="side-tab" value="runs">
          Runs
        </Tabs.Tab>
        <Tabs.Tab className="side-tab" value="plan">
          Plan
        </Tabs.Tab>
        <Tabs.Tab className="side-tab" value="beams">
          Transmission
        </Tabs.Tab>
      </Tabs.List>
      <Tabs.Panel className="side-body" value="runs" tabIndex={-1}>
        <RunsPanel />
        <MetadataPanel />
      </Tabs.Panel>
      <Tabs.Panel className="side-body" value="plan" tabIndex={-1}>
        {hasPlan ? (
          <>
            <CentrePanel />
            <MaskPanel />
            <AveragesPanel />
            <CorrectionsPanel />
          </>
        ) : (
          <p className="teach">
            The plan says how a frame becomes a curve: centre, mask, averages and corrections. It starts with the first
            frame.
          </p>
        )}
      </Tabs.Panel>
      <Tabs.Panel className="side-body" value="beams" tabIndex={-1}>
        <TransmissionPanel />
      </Tabs.Panel>
    </Tabs.Root>
  );
}

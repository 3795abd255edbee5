import { Menu } from "@base-ui/react/menu";
import { Plus, X } from "lucide-react";
import { averagesOf } from "../../core/plan/defaults.ts";
import type { PlanAverage } from "../../core/plan/plan.ts";
import { useApplication, useDocument, useResults } from "../app/application.ts";
import { runCommand } from "../app/commands.ts";
import { IconButton } from "../app/parts/icon-button.tsx";
import { NumberBox } from "../app/parts/number-box.tsx";
import { Pick } from "../app/parts/pick.tsx";
import { Section } from "../app/parts/section.tsx";
import { ToggleRow } from "../app/parts/toggle-row.tsx";
import { BinFields } from "./bin-fields.tsx";

const KINDS = { radial: "Radial", sector: "Sector", annulus: "Annulus", box: "Box" } as const;
type Kind = keyof typeof KINDS;

export function AveragesPanel() {
  const application = useApplication();
  const plan = useDocument(({ history }) => history?.present.plan);
  const ready = useResults(({ reduction }) => reduction !== undefined);
  if (plan === undefined) return null;
  const averages = averagesOf(plan);
  return (
    <Section
      title="Averages"
      aside={
        <Menu.Root>
          <Menu.Trigger className="icon-button" aria-label="Add an average" disabled={!ready}>
            <Plus size={16} strokeWidth={1.75} aria-hidden />
          </Menu.Trigger>
          <Menu.Portal>
            <Menu.Positioner className="floating-positioner" sideOffset={4} align="end">
              <Menu.Popup className="menu">
                {(Object.keys(KINDS) as Kind[]).map((kind) => (
                  <Menu.Item key={kind} className="menu-item" onClick={() => runCommand(`add-${kind}`, application)}>
                    {KINDS[kind]}
                  </Menu.Item>
                ))}
              </Menu.Popup>
            </Menu.Positioner>
          </Menu.Portal>
        </Menu.Root>
      }
    >
      {averages.length === 0 && <p className="teach">Without an average there is no curve. Add a radial one.</p>}
      {averages.map((average) => (
        <AverageEditor key={average.id} average={average} />
      ))}
    </Section>
  );
}

function AverageEditor({ average }: { readonly average: PlanAverage }) {
  const { document } = useApplication();
  const current = useResults(({ reduction }) => reduction?.curves.find(({ id }) => id === average.id)?.q);
  const { act } = document.getState();
  const replace = (next: PlanAverage) => act({ type: "replace-average", id: average.id, average: next });
  return (
    <fieldset className="average" data-average={average.id}>
      <legend className="average-head">
        <span className="average-name">{average.id}</span>
        <span className="average-kind">{KINDS[average.kind]}</span>
        <IconButton
          icon={X}
          label={`Remove ${average.id}`}
          onClick={() => act({ type: "remove-average", id: average.id })}
        />
      </legend>
      <KindFields average={average} replace={replace} />
      {average.kind !== "annulus" && (
        <BinFields bins={average.bins} current={current} onChange={(bins) => replace({ ...average, bins })} />
      )}
    </fieldset>
  );
}

function KindFields({
  average,
  replace,
}: {
  readonly average: PlanAverage;
  readonly replace: (average: PlanAverage) => void;
}) {
  switch (average.kind) {
    case "radial":
      return null;
    case "sector":
      return (
        <>
          <div className="row pair-row">
            <NumberBox
              label="Centre"
              value={average.centre_deg}
              unit="°"
              onChange={(centre_deg) => replace({ ...average, centre_deg })}
            />
            <NumberBox
              label="±"
              value={average.halfWidth_deg}
              unit="°"
              allows={(value) => value > 0 && value <= 180}
              onChange={(halfWidth_deg) => replace({ ...average, halfWidth_deg })}
            />
          </div>
          <ToggleRow
            label="And the opposite side"
            on={average.mirrored ?? false}
            onChange={(mirrored) => replace({ ...average, mirrored })}
          />
        </>
      );
    case "annulus":
      return (
        <>
          <div className="row pair-row">
            <NumberBox
              label="Q from"
              value={average.qMin}
              allows={(value) => value >= 0 && value < average.qMax}
              onChange={(qMin) => replace({ ...average, qMin })}
            />
            <NumberBox
              label="to"
              value={average.qMax}
              unit="1/Å"
              allows={(value) => value > average.qMin}
              onChange={(qMax) => replace({ ...average, qMax })}
            />
          </div>
          <div className="row">
            <NumberBox
              label="Bins around"
              value={average.count}
              placeholder="72"
              allows={(value) => Number.isInteger(value) && value >= 1 && value <= 3600}
              onChange={(count) => replace({ ...average, count })}
            />
          </div>
        </>
      );
    case "box":
      return (
        <>
          <Pick
            label="Along"
            value={average.axis}
            options={[
              { value: "x", label: "Along x" },
              { value: "y", label: "Along y" },
            ]}
            onPick={(axis) => replace({ ...average, axis })}
          />
          <div className="row">
            <NumberBox
              label="Half-width"
              value={average.halfWidth_1A}
              unit="1/Å"
              allows={(value) => value > 0}
              onChange={(halfWidth_1A) => replace({ ...average, halfWidth_1A })}
            />
          </div>
        </>
      );
  }
}

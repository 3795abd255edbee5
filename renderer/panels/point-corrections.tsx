import { Popover } from "@base-ui/react/popover";
import { useEffect, useState } from "react";
import type { Curve, Profile } from "../../core/model/curve.ts";
import { readable } from "../../core/model/numbers.ts";
import type { WalkStep } from "../../core/plan/point-walk.ts";
import { stepName } from "../../core/report/ledger-words.ts";
import { useApplication } from "../app/application.ts";
import { faultInWords } from "../state/plan-words.ts";
import { walkRows } from "../state/walk-rows.ts";

/** A point's way through the corrections, from counts a pixel to its intensity; worked out when it is asked for. */
export function PointCorrections({ average, index }: { readonly average: Curve | Profile; readonly index: number }) {
  return (
    <Popover.Root>
      <Popover.Trigger className="text-button">What each step did</Popover.Trigger>
      <Popover.Portal>
        <Popover.Positioner className="floating-positioner" sideOffset={6} side="top">
          <Popover.Popup className="step-details">
            <Popover.Title className="details-title">From counts to this point</Popover.Title>
            <Walk average={average} index={index} />
          </Popover.Popup>
        </Popover.Positioner>
      </Popover.Portal>
    </Popover.Root>
  );
}

interface Walked {
  readonly steps?: readonly WalkStep[];
  readonly fault?: string;
}

function Walk({ average, index }: { readonly average: Curve | Profile; readonly index: number }) {
  const { client } = useApplication();
  const [walked, setWalked] = useState<Walked>({});
  useEffect(() => {
    let isWanted = true;
    void client.ask("walk-point", { averageId: average.id, index }, { slot: "walk-point" }).then((answer) => {
      if (!isWanted) return;
      if (answer.ok) setWalked({ steps: answer.value.walk });
      else if (answer.fault.code !== "cancelled") setWalked({ fault: faultInWords(answer.fault) });
    });
    return () => {
      isWanted = false;
    };
  }, [client, average, index]);
  if (walked.fault !== undefined) return <p className="warning-line">{walked.fault}</p>;
  if (walked.steps === undefined) return <p className="details-status">Following the point</p>;
  const rows = walkRows(walked.steps);
  return (
    <table className="walk">
      <thead>
        <tr>
          <th scope="col">Step</th>
          <th scope="col">What it did</th>
          <th scope="col">Gives</th>
        </tr>
      </thead>
      <tbody>
        {rows.map(({ step, change, intensity }, i) => (
          <tr key={step} data-step={step}>
            <th scope="row" className="sentence">
              {stepName(step)}
            </th>
            <td>{change}</td>
            <td className="quantity">
              {readable(intensity)}
              <span className="unit">{i === 0 ? "counts a pixel" : i === rows.length - 1 ? average.unit : ""}</span>
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

import { Popover } from "@base-ui/react/popover";
import type { CommonUncertainty } from "../../core/model/ledger.ts";
import { readable, withSigma } from "../../core/model/numbers.ts";

/** The uncertainty that all points share, which no error bar shows; its factors on demand. */
export function CommonPart({ common }: { readonly common: CommonUncertainty | undefined }) {
  if (common === undefined || common.relativeSigma === null) return null;
  return (
    <Popover.Root>
      <Popover.Trigger
        className="text-button common-part"
        title="What all points share: transmission, monitor, absolute scale. No error bar shows it."
      >
        known in common to {percent(common.relativeSigma)}
      </Popover.Trigger>
      <Popover.Portal>
        <Popover.Positioner className="floating-positioner" sideOffset={6} side="top">
          <Popover.Popup className="step-details">
            <Popover.Title className="details-title">What all points share</Popover.Title>
            <Popover.Description className="details-status">
              Error bars show counting alone. All points move together by what follows; an empty cell that was taken off
              makes it more where it scatters much.
            </Popover.Description>
            <dl className="facts">
              {common.factors.map(({ name, value, relativeSigma, appliesTo }) => (
                <div key={`${name} ${appliesTo}`} className="fact">
                  <dt>{name}</dt>
                  <dd>
                    <span className="quantity">
                      {relativeSigma === null ? readable(value) : withSigma(value, Math.abs(value) * relativeSigma)}
                    </span>
                    <span className="fact-source">
                      {relativeSigma === null ? "not known how well" : percent(relativeSigma)}, {appliesTo}
                    </span>
                  </dd>
                </div>
              ))}
            </dl>
          </Popover.Popup>
        </Popover.Positioner>
      </Popover.Portal>
    </Popover.Root>
  );
}

function percent(relative: number): string {
  return `${readable(Number((100 * relative).toPrecision(2)))} %`;
}

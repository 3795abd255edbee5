import { Collapsible } from "@base-ui/react/collapsible";
import { ChevronRight } from "lucide-react";
import type { ReactNode } from "react";

/** A part of a side panel under a heading that folds it. */
export function Section({
  title,
  aside,
  open = true,
  children,
}: {
  readonly title: string;
  /** At the end of the heading: a number, a button. */
  readonly aside?: ReactNode;
  /** At first; afterwards the person decides. */
  readonly open?: boolean;
  readonly children: ReactNode;
}) {
  return (
    <Collapsible.Root className="section" defaultOpen={open}>
      <div className="section-head">
        <h2 className="section-title">
          <Collapsible.Trigger className="section-trigger">
            <ChevronRight className="section-arrow" size={14} aria-hidden />
            {title}
          </Collapsible.Trigger>
        </h2>
        {aside}
      </div>
      <Collapsible.Panel className="section-body">{children}</Collapsible.Panel>
    </Collapsible.Root>
  );
}

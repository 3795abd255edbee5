import { describe, expect, it } from "vitest";
import { validatePlan } from "../../../../core/plan/parse.ts";
import { readSession, SESSION_VERSION } from "../../../../renderer/state/session-file.ts";
import { migrateSession } from "../../../../renderer/state/session-migrations.ts";

/** As the first version wrote it, before curves stood beside. */
const FIRST =
  '{"halationSession":1,"isSampleExperiment":false,"view":{"palette":"magma"},"document":{"files":{"a.h5":{"path":"a.h5","name":"a.h5","label":"a.h5","size":10,"origin":{"kind":"host","token":"t1"}}},"plan":{"planVersion":1,"runs":{"sample":"a.h5"},"mask":{"edge_px":2}},"past":[{"label":"change the masked edge","plan":{"planVersion":1,"runs":{"sample":"a.h5"}}}]}}';

describe("a session of an earlier version", () => {
  it("of the first is read whole, with no curves beside", () => {
    const session = readSession(FIRST, validatePlan);
    if (!session.ok) throw new Error(session.fault.message);
    const { history, view } = session.value;
    expect(view.palette).toBe("magma");
    expect(history?.present).toMatchObject({ plan: { mask: { edge_px: 2 } }, beside: [] });
    expect(history?.present.files["a.h5"]?.origin).toEqual({ kind: "host", token: "t1" });
    expect(history?.past).toMatchObject([{ label: "change the masked edge", tree: { beside: [] } }]);
  });

  it("becomes one of the present version, and the text that was read stays as it was", () => {
    const stored = JSON.parse(FIRST) as Record<string, unknown>;
    const migrated = migrateSession(stored, 1);
    expect(migrated).toMatchObject({
      halationSession: SESSION_VERSION,
      document: { beside: [], past: [{ beside: [], label: "change the masked edge" }] },
    });
    expect(JSON.stringify(stored)).toBe(FIRST);
    expect(migrateSession(migrated, SESSION_VERSION)).toBe(migrated);
  });

  it("of the first that had curves beside already keeps them", () => {
    const beside = [{ key: "k" }];
    const document = { beside, past: [{ label: "load", beside }] };
    expect(migrateSession({ halationSession: 1, document }, 1)).toMatchObject({ document });
  });
});

import { describe, expect, it } from "vitest";
import type { FileToken } from "../../../../core/host-contract.ts";
import { validatePlan } from "../../../../core/plan/parse.ts";
import { besideEntries } from "../../../../renderer/state/beside-curve.ts";
import { createDocumentStore } from "../../../../renderer/state/document-store.ts";
import { readSession, writeSession } from "../../../../renderer/state/session-file.ts";
import { DEFAULT_VIEW } from "../../../../renderer/state/view-settings.ts";

function documentWithSteps() {
  const store = createDocumentStore();
  const host = { kind: "host", token: "t1" as FileToken } as const;
  const dropped = { kind: "dropped", key: "k" } as const;
  store.getState().open({
    plan: { planVersion: 1, runs: { sample: "a.h5", flood: "flood.h5" } },
    files: {
      "a.h5": { path: "a.h5", name: "a.h5", label: "data/a.h5", size: 10, origin: host },
      "flood.h5": { path: "flood.h5", name: "flood.h5", label: "flood.h5", size: 20, origin: dropped },
    },
  });
  store.getState().act({ type: "set-edge", edge_px: 2 });
  store.getState().act({ type: "set-title", title: "Rods" });
  store.getState().show({ palette: "magma", split: 0.6, keys: { undo: "KeyU" }, guide: "closed", sheet: "keys" });
  return store.getState();
}

describe("a session", () => {
  it("comes back with plan, steps of undo and view", () => {
    const state = documentWithSteps();
    const session = readSession(writeSession(state), validatePlan);
    if (!session.ok) throw new Error(session.fault.message);
    expect(session.value.history?.present.plan).toEqual(state.history?.present.plan);
    expect(session.value.history?.past.map(({ label, tree }) => [label, tree.plan])).toEqual(
      state.history?.past.map(({ label, tree }) => [label, tree.plan]),
    );
    expect(session.value.view).toMatchObject({
      palette: "magma",
      split: 0.6,
      keys: { undo: "KeyU" },
      guide: "closed",
      sheet: undefined,
    });
  });

  it("finds files of the host again, and says of dropped ones that they must be dropped again", () => {
    const session = readSession(writeSession(documentWithSteps()), validatePlan);
    if (!session.ok) throw new Error(session.fault.message);
    const files = session.value.history?.present.files;
    expect(files?.["a.h5"]?.origin).toEqual({ kind: "host", token: "t1" });
    expect(files?.["flood.h5"]?.origin).toMatchObject({ kind: "lost", reason: expect.stringContaining("flood.h5") });
  });

  it("keeps the curves that stand beside, step by step, and the bytes of a small dropped file", () => {
    const store = createDocumentStore();
    store.getState().restore(documentWithSteps().history, DEFAULT_VIEW, false);
    const origin = { kind: "inline", base64: btoa("0.1,2,3") } as const;
    const file = { path: "beside/a.csv", name: "a.csv", label: "a.csv", size: 7, origin, holds: "curves" } as const;
    const [first, second] = besideEntries([], file.path, ["one", "two"]);
    store.getState().setBeside([first!, second!], "load a.csv", [file]);
    store.getState().setBeside([second!], "take away one");
    const session = readSession(writeSession(store.getState()), validatePlan);
    if (!session.ok) throw new Error(session.fault.message);
    const { history } = session.value;
    expect(history?.present.beside).toEqual([second]);
    expect(history?.present.files[file.path]).toEqual(file);
    expect(history?.past.at(-1)).toMatchObject({ label: "take away one", tree: { beside: [first, second] } });
    expect(history?.past.at(-2)).toMatchObject({ label: "load a.csv", tree: { beside: [] } });
    // A colour stays with its curve; a new one takes the first that is free.
    expect(second?.colour).toBe(1);
    expect(besideEntries([second!], "beside/b.csv", ["b"])[0]?.colour).toBe(0);
  });

  it("kept by the first version, before there were other settings, is read with today's for what it lacks", () => {
    const stored = {
      halationSession: 1,
      isSampleExperiment: false,
      view: { question: "curves", palette: "magma", retiredSetting: [1, 2] },
      document: {
        files: { "a.h5": { path: "a.h5", name: "a.h5", origin: { kind: "host", token: "t1" } } },
        plan: { planVersion: 1, runs: { sample: "a.h5" }, mask: { edge_px: 2 } },
        past: [
          { label: "not understood", plan: { planVersion: 1, runs: { sampel: "a.h5" } } },
          { label: "change the masked edge", plan: { planVersion: 1, runs: { sample: "a.h5" } } },
        ],
      },
    };
    const session = readSession(JSON.stringify(stored), validatePlan);
    if (!session.ok) throw new Error(session.fault.message);
    const { view, history } = session.value;
    expect(view).toEqual({ ...DEFAULT_VIEW, question: "curves", palette: "magma" });
    expect(history?.present.plan.mask?.edge_px).toBe(2);
    // A step that is no longer understood ends the chain; the ones after it can still be taken back.
    expect(history?.past.map(({ label }) => label)).toEqual(["change the masked edge"]);
  });

  it("of a newer version is refused in a sentence with both versions", () => {
    const session = readSession(JSON.stringify({ halationSession: 99, document: null }), validatePlan);
    expect(session).toMatchObject({
      ok: false,
      fault: { code: "unsupported", message: expect.stringMatching(/99.*2/) },
    });
  });

  it.each(["", "{", "[]", "null", "42", '{"document": {}}'])("that is damaged (%s) is refused, not thrown", (text) => {
    expect(readSession(text, validatePlan)).toMatchObject({ ok: false, fault: { code: "unreadable" } });
  });

  it("with a plan that the schema refuses names the key", () => {
    const stored = { halationSession: 1, document: { plan: { planVersion: 1, runs: { sampel: "a" } }, files: {} } };
    expect(readSession(JSON.stringify(stored), validatePlan)).toMatchObject({
      ok: false,
      fault: { message: expect.stringContaining("sampel") },
    });
  });

  it("takes the default for a view setting that it doesn't know", () => {
    const stored = { halationSession: 1, document: null, view: { palette: "plaid", split: 7, question: "anisotropy" } };
    const session = readSession(JSON.stringify(stored), validatePlan);
    expect(session).toMatchObject({
      ok: true,
      value: { view: { palette: "cividis", split: 0.75, question: "anisotropy" } },
    });
  });
});

import { describe, expect, it } from "vitest";
import { endGesture, record, redo, startHistory, undo } from "../../../../renderer/state/history.ts";

describe("history", () => {
  it("goes back through every change and forward again", () => {
    let history = startHistory(0);
    for (let step = 1; step <= 1000; step++) history = record(history, step, `to ${step}`);
    for (let step = 999; step >= 0; step--) {
      history = undo(history);
      expect(history.present).toBe(step);
    }
    expect(undo(history)).toBe(history);
    for (let step = 1; step <= 1000; step++) history = redo(history);
    expect(history.present).toBe(1000);
    expect(redo(history)).toBe(history);
  });

  it("takes the changes of one gesture as one step", () => {
    let history = startHistory("start");
    for (const place of ["a", "b", "c"]) history = record(history, place, "move", "drag");
    expect(history.past).toHaveLength(1);
    expect(undo(history).present).toBe("start");
  });

  it("starts a new step after a gesture ended, even for the same thing", () => {
    let history = record(startHistory("start"), "a", "move", "drag");
    history = record(endGesture(history), "b", "move", "drag");
    expect(undo(history).present).toBe("a");
  });

  it("doesn't let a gesture swallow what was changed before an undo", () => {
    let history = record(startHistory("start"), "a", "move", "drag");
    history = record(undo(history), "b", "move", "drag");
    expect(undo(history).present).toBe("start");
  });

  it("forgets what was undone when something else is changed", () => {
    const changed = record(undo(record(startHistory(0), 1, "one")), 2, "two");
    expect(changed.future).toEqual([]);
  });

  it("says what undo will undo", () => {
    expect(record(startHistory(0), 1, "draw a mask").past.at(-1)?.label).toBe("draw a mask");
    expect(undo(record(startHistory(0), 1, "draw a mask")).future[0]?.label).toBe("draw a mask");
  });

  it("records nothing where nothing changed", () => {
    const history = startHistory(0);
    expect(record(history, 0, "nothing")).toBe(history);
  });
});

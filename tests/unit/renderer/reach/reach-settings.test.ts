import { describe, expect, it } from "vitest";
import { readLength } from "../../../../renderer/app/parts/read-quantity.ts";
import {
  EXAMPLE_SETTINGS,
  isAllowed,
  reachOf,
  readReachSettings,
  seamsOfReaches,
  settingsOfRun,
} from "../../../../renderer/reach/reach-settings.ts";
import { reachSentence, seamWords } from "../../../../renderer/reach/reach-words.ts";
import { someGeometry } from "../../averaging/frames.ts";

const { bank } = EXAMPLE_SETTINGS;
const [example] = EXAMPLE_SETTINGS.rows;
if (example === undefined) throw new Error("the example has no row");

describe("readLength", () => {
  it.each([
    ["4", "m", 4],
    ["4 m", "m", 4],
    ["400cm", "m", 4],
    ["0,6 nm", "Å", 6],
    ["6 A", "Å", 6],
    ["12.5 µm", "mm", 0.0125],
    ["1e-3 km", "m", 1],
  ])("takes %j in %s as %d", (text, unit, value) => expect(readLength(text, unit)).toBe(value));

  it.each(["", "m", "4 s", "four m", "4 m m"])("refuses %j", (text) => expect(readLength(text, "m")).toBeUndefined());
});

describe("settingsOfRun", () => {
  it("takes the camera of the run, with the nearest side of a rectangular stop", () => {
    const geometry = someGeometry({ distance: 2, wavelength: 8, pixelSizeX: 0.004, pixelSizeY: 0.005 });
    const beamStop = { shape: "rectangle", x: 1, y: 1, width: 10, height: 6, turn: 0 } as const;
    const { rows, bank: shown } = settingsOfRun({ geometry, collimation: { sampleAperture: 0.008 }, beamStop });
    expect(rows[0]).toMatchObject({ distance_m: 2, wavelength_A: 8, stopRadius_mm: 12, collimation_m: undefined });
    expect(shown).toMatchObject({ pixelX_mm: 4, pixelY_mm: 5, sampleAperture_mm: 8, wavelengthSpread: undefined });
  });
});

describe("the words on settings", () => {
  it("name what two settings see together, and what none sees", () => {
    // 2 pi / Q at the rim of a 30 mm stop at 4 m and 6 angstrom is 80 nm (Q = 0.00785); the edge at 320 mm, 64 pixels of
    // 5 mm from the middle, is (4 pi / 6) sin(atan(0.08) / 2) = 0.0836: by hand.
    const near = reachOf(example, bank);
    expect(reachSentence(near, 0)).toBe("Setting 1: Q from 0.00785 to 0.0836 1/Å, sizes 7.52 – 80 nm.");
    const far = reachOf({ ...example, distance_m: 16 }, bank);
    const close = reachOf({ ...example, distance_m: 1, stopRadius_mm: 60 }, bank);
    expect(seamsOfReaches([near, far, close]).map(seamWords)).toEqual([
      expect.stringMatching(/^Settings 2 and 1 overlap from 0.00785 to 0.0209 1\/Å \(×2.7\)/),
      expect.stringMatching(/^Settings 1 and 3 overlap from 0.0627 to 0.0836 1\/Å \(×1.3\)/),
    ]);
    const distant = reachOf({ ...example, distance_m: 80, stopRadius_mm: 30 }, bank);
    expect(seamsOfReaches([near, distant]).map(seamWords)[0]).toMatch(/^Nothing reaches 0.00419 to 0.00785 1\/Å/);
  });
});

describe("readReachSettings", () => {
  it("gives back what a session kept", () => {
    const kept = { ...EXAMPLE_SETTINGS, rows: [example, { ...example, distance_m: 12, collimation_m: undefined }] };
    expect(readReachSettings(JSON.parse(JSON.stringify(kept)))).toEqual(kept);
  });

  it.each([
    undefined,
    { rows: [], bank },
    { rows: [{ ...example, distance_m: "4" }], bank },
    { rows: [{ ...example, wavelength_A: -6 }], bank },
    { rows: [example], bank: { ...bank, width_px: 1e9 } },
  ])("takes the run's own instead of what is not whole: %#", (stored) => {
    expect(readReachSettings(stored)).toBeUndefined();
  });
});

it("lets nothing into a field that the camera can't be reckoned with", () => {
  expect(["distance_m", "wavelength_A", "pixelX_mm"].some((key) => isAllowed(key, 0))).toBe(false);
  expect(isAllowed("stopRadius_mm", 0)).toBe(true);
  expect(isAllowed("width_px", 1.5)).toBe(false);
  expect(isAllowed("centreX_px", Number.NaN)).toBe(false);
});

import type { BeamStopReport, BeamStopVerdict } from "../../core/beam/beam-stop-report.ts";

export interface VerdictChange {
  readonly frame: string;
  readonly from: BeamStopVerdict;
  readonly to: BeamStopVerdict;
  readonly reason: string;
}

const WORDS: Readonly<Record<BeamStopVerdict, string>> = {
  covered: "covered",
  marginal: "marginal",
  leaking: "leaking",
  "cannot-tell": "cannot tell",
};

export function verdictWord(verdict: BeamStopVerdict): string {
  return WORDS[verdict];
}

/** Undefined where the verdict is the same, or the first. */
export function changeOfVerdict(
  frame: string,
  before: BeamStopVerdict | undefined,
  { verdict, reason }: BeamStopReport,
): VerdictChange | undefined {
  return before === undefined || before === verdict ? undefined : { frame, from: before, to: verdict, reason };
}

export function changeInWords({ frame, from, to, reason }: VerdictChange): string {
  return `${frame}: ${verdictWord(from)} before, ${verdictWord(to)} now. ${reason}`;
}

/** Tones in Hz: falling for worse, rising for better. */
const GOOD_TONES = [440, 660];
const BAD_TONES = [660, 330];
const TONE_S = 0.16;
const LOUDNESS = 0.2;

/** Two short tones. */
export function soundChange({ to }: VerdictChange): void {
  const audio = new AudioContext();
  const tones = to === "covered" ? GOOD_TONES : BAD_TONES;
  for (const [i, hertz] of tones.entries()) {
    const tone = audio.createOscillator();
    const gain = audio.createGain();
    const start = audio.currentTime + i * TONE_S;
    tone.frequency.value = hertz;
    gain.gain.setValueAtTime(LOUDNESS, start);
    // An end without a click.
    gain.gain.exponentialRampToValueAtTime(LOUDNESS / 100, start + TONE_S);
    tone.connect(gain).connect(audio.destination);
    tone.start(start);
    tone.stop(start + TONE_S);
    if (i === tones.length - 1) tone.onended = () => void audio.close();
  }
}

/** Asks the person, where nobody has been asked yet. @returns whether notices of the system may be shown */
export async function mayNotify(): Promise<boolean> {
  if (!("Notification" in window)) return false;
  const permission =
    Notification.permission === "default" ? await Notification.requestPermission() : Notification.permission;
  return permission === "granted";
}

export function notifyChange(change: VerdictChange): void {
  if (!("Notification" in window) || Notification.permission !== "granted") return;
  // One tag: the newest verdict takes the place of the one before.
  new Notification(`Beam stop: ${verdictWord(change.to)}`, { body: changeInWords(change), tag: "halation-verdict" });
}

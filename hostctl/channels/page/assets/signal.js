// Sound and vibration at a new prompt. Browsers allow sound only after a first touch.
import { byId } from "./make.js";

const RISING = [660, 880];
const LOW = [330, 330];
let audio = null;

const wanted = () => byId("sound").getAttribute("aria-pressed") === "true";

// Without a tone where a meter's beep is listened for.
export function signalPrompt(silently) {
  signal(silently ? [] : RISING, [90, 60, 90]);
}

export function signalTrouble() {
  signal(LOW, [250, 80, 250]);
}

export function allowSoundAfterTouch() {
  for (const kind of ["pointerdown", "keydown"]) addEventListener(kind, wake, { once: true });
}

function wake() {
  if (!audio && window.AudioContext) audio = new AudioContext();
}

function signal(tones, buzz) {
  if (!wanted()) return;
  if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.(buzz);
  if (!audio) return;
  if (audio.state !== "running") audio.resume();
  tones.forEach((hertz, index) => beep(hertz, audio.currentTime + index * 0.16));
}

function beep(hertz, at) {
  const tone = audio.createOscillator();
  const loudness = audio.createGain();
  tone.frequency.value = hertz;
  loudness.gain.setValueAtTime(0.0001, at);
  loudness.gain.exponentialRampToValueAtTime(0.25, at + 0.02);
  loudness.gain.exponentialRampToValueAtTime(0.0001, at + 0.14);
  tone.connect(loudness).connect(audio.destination);
  tone.start(at);
  tone.stop(at + 0.15);
}

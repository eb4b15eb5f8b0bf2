// Reads aloud what is asked: both hands are at a screw. Off at first. Only a voice of this device
// is used, so that no word goes over a network for it.
import { byId, say } from "./make.js";
import { inMm } from "./dots.js";

let said = ""; // what was begun last: a prompt, a countdown, a hold
let aimed = "";

const isOn = () => byId("aloud").getAttribute("aria-pressed") === "true";
const ownVoice = () => window.speechSynthesis?.getVoices().find((one) => one.localService && /^en\b/i.test(one.lang));

// Where the browser has no voice of its own the setting says so. Voices may come late.
export function offerVoice() {
  byId("aloud").addEventListener("click", () => (isOn() ? utter("What is asked is read aloud.") : hush()));
  window.speechSynthesis?.addEventListener?.("voiceschanged", lookForVoice);
  lookForVoice();
}

function lookForVoice() {
  const found = Boolean(ownVoice());
  byId("aloud").disabled = !found;
  say("aloud", found ? "Read aloud" : "Read aloud: no English voice in this browser");
}

// `shown`: the text on the screen, below the headline. Each thing is read once, and no longer than
// until it is answered.
export function readAloud({ view }, state, shown) {
  const { prompt, live } = view;
  const now = thing(view, state);
  if (now !== said) {
    said = now;
    aimed = "";
    hush();
    if (now) utter(inWords(view, state, shown));
  }
  if (prompt && live?.prompt_id === prompt.prompt_id && live.target_mm !== null) aim(live);
}

function thing({ machine, prompt, hold, halted, standing }, state) {
  if (prompt) return `${machine} asks ${prompt.prompt_id}`;
  if (state === "countdown") return `${machine} counts`;
  if (standing === "halted") return `${machine} is halted: ${halted}`;
  return standing === "holding" ? `${machine} holds: ${hold}` : "";
}

function inWords({ prompt, standing }, state, shown) {
  if (state === "countdown") return "It is about to move. Hands out.";
  const still = { holding: "On hold", halted: "Halted" }[standing] || "";
  return [still, prompt?.operator, prompt?.method, shown].filter(Boolean).join(". ");
}

// What the indicator is to show in the end: said when it is known, and again when it changes.
function aim({ target_mm: target, resolution_mm: resolution }) {
  const words = `Turn until it shows ${inMm(target, resolution)}.`;
  if (words !== aimed) utter(words);
  aimed = words;
}

export function hush() {
  window.speechSynthesis?.cancel();
}

function utter(text) {
  const voice = ownVoice();
  if (!voice || !isOn()) return;
  const words = new SpeechSynthesisUtterance(asSpoken(text));
  words.voice = voice;
  words.lang = voice.lang;
  window.speechSynthesis.speak(words);
}

// Signs as they are spoken.
export function asSpoken(text) {
  return text
    .replace(/[−-](?=\d)/g, "minus ")
    .replace(/\+(?=\d)/g, "plus ")
    .replace(/±/g, "plus or minus ")
    .replace(/°C\b/g, " degrees Celsius")
    .replace(/°/g, " degrees")
    .replace(/\bmm\b/g, "millimetres");
}

// The number entry: our own pad for thumbs, or any keyboard. The host reads what was typed; here it
// is only shown what it would mean.
import { byId, html, say, show } from "./make.js";
import { inMm } from "./dots.js";

const KEYS = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "±", "0", "."];
const NUMBER = /^[-+−]?(\d{1,3}([.,]\d{0,6})?|[.,]\d{1,6})$/;
const NAMES = { "±": "Change the sign", ".": "Decimal point" };
let prompt = null;
let changed = () => {};

export function makeEntry(onChange) {
  changed = onChange;
  for (const key of KEYS) {
    const attributes = { type: "button", onclick: () => press(key) };
    if (NAMES[key]) attributes["aria-label"] = NAMES[key];
    byId("pad").append(html("button", attributes, key));
  }
  byId("erase").addEventListener("click", () => press("⌫"));
  byId("typed").addEventListener("input", refresh);
}

// For this prompt. What was typed before it was shown is thrown away, unless the same is asked again.
export function askFor(asked, keeps) {
  prompt = asked;
  if (!keeps) byId("typed").value = "";
  say("typed-label", isBlade() ? "The blade is so thick" : "The indicator shows");
  byId("pad").querySelector('[aria-label="Change the sign"]').disabled = isBlade();
  say("unit", asked?.typed_in_graduations ? "grad." : "mm");
  refresh();
}

export const typed = () => byId("typed").value.trim();
export const isNumber = () => NUMBER.test(typed()) && !(isBlade() && isNegative(typed()));
const isBlade = () => prompt?.deed.do === "try-blade";
const isNegative = (text) => /^[-−]/.test(text);

export function press(key) {
  const input = byId("typed");
  const text = input.value;
  if (key === "⌫") input.value = text.slice(0, -1);
  else if (key === "±" && isBlade()) return;
  else if (key === "±") input.value = isNegative(text) ? text.slice(1) : "−" + text.replace("+", "");
  else if (key === "." && /[.,]/.test(text)) return;
  else if (text.length < input.maxLength) input.value = text + key;
  refresh();
}

// What would be kept: "−0.02 mm"; a blade's thickness has no sign.
export function meaning() {
  const number = Number(typed().replace("−", "-").replace(",", "."));
  const step = prompt?.resolution_mm || 0.001;
  const mm = prompt?.typed_in_graduations ? number * step : number;
  const fine = Math.abs(mm / step - Math.round(mm / step)) < 1e-3;
  const shown = fine ? inMm(mm, step) : String(mm);
  return `${isBlade() ? shown.replace("+", "") : shown} mm`;
}

function refresh() {
  const grad = prompt?.typed_in_graduations;
  const step = prompt?.resolution_mm;
  if (grad) say("means", isNumber() ? `= ${meaning()}` : `graduations of ${step} mm`);
  else say("means", "");
  changed();
}

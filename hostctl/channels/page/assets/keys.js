// Single keys, shown on the buttons. They can be switched off, for speech input.
import { byId } from "./make.js";
import { press } from "./entry.js";
import { buttonOf } from "./which.js";

const TYPED = /^[0-9.,+-]$/;
const BUTTONS = { h: "hold", x: "stop", r: "redo", s: "skip", e: "end" };

export function listenToKeys() {
  addEventListener("keydown", (event) => {
    if (event.key === "Enter" && event.target.closest?.("#which")) event.preventDefault();
    if (event.repeat || event.ctrlKey || event.altKey || event.metaKey) return;
    if (event.target.matches("input:not(#typed)")) return;
    const inField = event.target.matches("input");
    if (event.key === "Enter") enter(event);
    else if (byId("single-keys").getAttribute("aria-pressed") !== "true") return;
    else if (BUTTONS[event.key.toLowerCase()]) pressButton(event);
    else if (buttonOf(event.key.toLowerCase())) pressChoice(event);
    else if (!inField) type(event);
  });
}

// Enter on a button presses that button, opens a link or a fold; anywhere else it answers.
function enter(event) {
  if (event.target.matches("button, a, summary")) return;
  event.preventDefault();
  byId("done").click();
}

function pressButton(event) {
  event.preventDefault();
  byId(BUTTONS[event.key.toLowerCase()]).click();
}

function pressChoice(event) {
  event.preventDefault();
  if (!byId("which").hidden) buttonOf(event.key.toLowerCase()).click();
}

function type(event) {
  if (byId("entry").hidden) return;
  if (TYPED.test(event.key)) press(event.key.replace("-", "±").replace("+", "").replace(",", "."));
  else if (event.key === "Backspace") press("⌫");
  else return;
  event.preventDefault();
}

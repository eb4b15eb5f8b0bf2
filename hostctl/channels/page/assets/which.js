// Which of several it is: a button each, far apart, unlike in shape and words. None is pressed by Enter.
import { byId, html } from "./make.js";

let shown = "";

// `onChoice(word)`: it was pressed.
export function showWhich(choices, onChoice) {
  const wanted = JSON.stringify(choices);
  if (wanted === shown) return;
  shown = wanted;
  byId("which").replaceChildren(...choices.map(({ word, key, text }) =>
    html("button", { type: "button", "data-key": key, "aria-keyshortcuts": key, onclick: () => onChoice(word) },
      html("b", {}, word.toUpperCase(), " ", html("kbd", {}, key.toUpperCase())), html("small", {}, text))));
}

export const buttonOf = (key) => byId("which").querySelector(`[data-key="${CSS.escape(key)}"]`);

export function allow(whether) {
  for (const button of byId("which").children) button.disabled = !whether;
}

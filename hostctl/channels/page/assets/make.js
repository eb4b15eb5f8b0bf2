// Elements, made by name: text goes in as text, never as markup.
const SVG = "http://www.w3.org/2000/svg";

export const byId = (id) => document.getElementById(id);

export function html(name, attributes = {}, ...children) {
  return filled(document.createElement(name), attributes, children);
}

export function svg(name, attributes = {}, ...children) {
  return filled(document.createElementNS(SVG, name), attributes, children);
}

function filled(element, attributes, children) {
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) element.addEventListener(key.slice(2), value);
    else element.setAttribute(key, value);
  }
  element.append(...children);
  return element;
}

// Writes only what differs, so that a screen reader is not told the same thing twice.
export function say(id, text) {
  const element = byId(id);
  if (element.textContent !== text) element.textContent = text;
}

export function show(id, whether) {
  byId(id).hidden = !whether;
}

// The dock covers what is long; that there is more is shown, and never left to be guessed.
import { byId } from "./make.js";

export function watchBelow() {
  addEventListener("scroll", lookBelow, { passive: true });
  addEventListener("resize", lookBelow);
}

export function lookBelow() {
  const end = byId("more").getBoundingClientRect().bottom;
  const dock = byId("dock");
  dock.toggleAttribute("data-covers", !dock.hidden && end > dock.getBoundingClientRect().top + 14);
}

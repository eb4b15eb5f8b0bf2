// What each phone keeps for itself, and pairing another one.
import { byId, html, show } from "./make.js";

let runsOut = 0;
const SWITCHES = ["sound", "aloud", "single-keys", "own-keyboard"];

export function bringSettings(act) {
  for (const id of SWITCHES) {
    const kept = recall(id);
    if (kept !== null) byId(id).setAttribute("aria-pressed", kept);
    byId(id).addEventListener("click", () => turn(id));
  }
  useKeyboard();
  byId("invite").addEventListener("click", () => invite(act));
}

function turn(id) {
  const pressed = byId(id).getAttribute("aria-pressed") !== "true";
  byId(id).setAttribute("aria-pressed", String(pressed));
  try {
    localStorage.setItem(id, String(pressed));
  } catch {
    // a private window keeps nothing
  }
  useKeyboard();
}

function recall(id) {
  try {
    return localStorage.getItem(id);
  } catch {
    return null;
  }
}

// Off: our pad alone. On: the phone brings its own, with signs (a decimal one often has no minus).
function useKeyboard() {
  const own = byId("own-keyboard").getAttribute("aria-pressed") === "true";
  byId("typed").inputMode = own ? "text" : "none";
  show("pad", !own);
}

// A code that is not taken any more must not stay to be scanned.
export function withdrawInvitation(why) {
  clearTimeout(runsOut);
  if (!byId("invitation").hidden) byId("invitation").replaceChildren(html("p", {}, why));
}

async function invite(act) {
  const reply = await act("/invite", {});
  if (!reply.ok) return;
  const { code, url, lasts_s, svg } = reply.told;
  const drawing = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
  drawing.setAttribute("role", "img");
  drawing.setAttribute("aria-label", `QR code of ${url} with the pairing code in it`);
  byId("invitation").replaceChildren(
    drawing,
    html("p", {}, `Point the other phone’s camera at it, or open ${url} there and type`),
    html("p", { class: "code" }, code),
    html("p", {}, `It serves once, within ${Math.round(lasts_s / 60)} minutes.`),
  );
  show("invitation", true);
  clearTimeout(runsOut);
  runsOut = setTimeout(() => withdrawInvitation("The code that was shown here has run out."), lasts_s * 1000);
  byId("invitation").scrollIntoView();
}

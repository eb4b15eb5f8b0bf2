// The screen stays on while a run goes on: whoever holds a screw can't wake a phone. Browsers allow
// it over HTTPS only, and let go of it when the page is hidden.
let wanted = false;
let lock = null;

export function stayAwake(whether) {
  wanted = whether;
  if (!wanted) letGo();
  else if (!lock) take();
}

async function take() {
  if (!navigator.wakeLock || document.visibilityState !== "visible") return;
  lock = "asked";
  try {
    lock = await navigator.wakeLock.request("screen");
    lock.addEventListener("release", () => (lock = null));
  } catch {
    lock = null; // a phone that saves its battery may say no
  }
  if (!wanted) letGo();
}

function letGo() {
  if (lock && lock !== "asked") lock.release();
}

document.addEventListener("visibilitychange", () => stayAwake(wanted));

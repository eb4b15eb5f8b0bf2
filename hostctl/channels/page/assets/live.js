// The line to the host: how each machine stands, as server-sent events. What comes is all of it, so
// nothing is missed in sleep. A line without a pulse is a lost one, and is said to be.
const SILENT_MS = 10_000;
const ASLEEP_MS = 6_000;
const AGAIN_MS = 1_500;
const KEEP_OPEN_MS = 20_000; // the host hangs up after 30 s

let source = null;
let lastHeard = 0;
let lastId = "";
let hostAheadMs = 0;
let heard = {};
let again = 0;

// When something was pressed, by the host's clock.
export const hostNow = () => Date.now() + hostAheadMs;

export function follow(listeners) {
  heard = listeners;
  open();
  setInterval(lookForSilence, 1000);
  setInterval(keepOpen, KEEP_OPEN_MS);
  addEventListener("offline", () => lost("This device is offline."));
  addEventListener("online", open);
  addEventListener("pageshow", afterSleep);
  document.addEventListener("visibilitychange", afterSleep);
}

// Besides the stream one connection stays open, so that STOP need not wait for a new one.
function keepOpen() {
  fetch("/assets/icon.svg", { method: "HEAD" }).catch(() => {});
}

function open() {
  clearTimeout(again);
  if (source) source.close();
  source = new EventSource(`/live?after=${encodeURIComponent(lastId)}`);
  source.addEventListener("hello", (event) => heard.hello(take(event)));
  source.addEventListener("station", (event) => heard.station(take(event)));
  source.addEventListener("pulse", take);
  source.addEventListener("error", failed);
}

function take(event) {
  const told = JSON.parse(event.data);
  lastHeard = Date.now();
  if (event.lastEventId) lastId = event.lastEventId;
  hostAheadMs = told.now_ms - lastHeard;
  heard.line(true, "");
  return told;
}

function failed() {
  lost("");
  if (source.readyState === EventSource.CLOSED) again = setTimeout(lookWhy, AGAIN_MS);
}

// A closed stream is a refusal: perhaps this browser is no longer paired.
async function lookWhy() {
  try {
    const page = await fetch("/");
    if (page.redirected) location.assign(page.url);
    else open();
  } catch {
    again = setTimeout(lookWhy, AGAIN_MS);
  }
}

function lookForSilence() {
  if (lastHeard && Date.now() - lastHeard > SILENT_MS) {
    lost("");
    open();
    lastHeard = Date.now();
  }
}

function afterSleep() {
  if (document.visibilityState === "visible" && Date.now() - lastHeard > ASLEEP_MS) open();
}

function lost(why) {
  heard.line(false, why);
}

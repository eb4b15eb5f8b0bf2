// While the machine rests: what came last, and starting. From here a start is off until somebody
// at the machine allows it; typing the code on the machine's own screen shows that one is there.
import { byId, html, say, show } from "./make.js";
import { hostNow } from "./live.js";

let act = async () => ({ ok: false, reason: "" });
let armedUntil = 0;
let shown = "";

// `onAct(path, body)`: posts, shows what was refused, gives { ok }.
export function makeResting(onAct) {
  act = onAct;
  byId("resting").append(
    html("div", { id: "to-arm" },
      html("h3", {}, "Start from here"),
      html("p", {}, "Starting from here is off until somebody at the machine allows it: with its button, or with the code that the machine shows on its own screen."),
      html("button", { id: "show-code", type: "button", onclick: showCode }, "1. Show the code at the machine"),
      html("form", { id: "code-form", onsubmit: sendCode },
        html("label", { for: "code" }, "2. Type the code here"),
        html("div", { class: "shown" },
          html("input", { id: "code", inputmode: "numeric", autocomplete: "off", maxlength: "6", size: "6" }),
          html("button", { type: "submit" }, "Allow one start")))),
    html("div", { id: "to-start" },
      html("h3", {}, "Start from here"),
      html("p", { id: "armed-for" }),
      html("div", { id: "choices" })),
  );
  setInterval(tick, 1000);
}

export function renderResting({ view, studies, stopped_runs }) {
  const resting = view.standing === "resting" && !view.queued;
  show("resting", resting);
  show("to-arm", !view.armed);
  show("to-start", Boolean(view.armed));
  armedUntil = view.armed ? Date.parse(view.armed.until) : 0;
  tick();
  const choices = JSON.stringify([view.machine, studies, stopped_runs]);
  if (choices !== shown) {
    shown = choices;
    byId("choices").replaceChildren(...choicesOf(studies, stopped_runs));
  }
}

function choicesOf(studies, stoppedRuns) {
  const starts = studies.map(({ study, ...plan }) =>
    html("button", { type: "button", onclick: () => start({ study }) }, `Start ${study}`,
      html("small", {}, plan.title), html("small", {}, sizeOf(plan))));
  const goesOn = stoppedRuns.map(({ run, study, reason }) =>
    html("button", { type: "button", onclick: () => start({ resume: run }) },
      `Go on with run ${run}: ${study}`, html("small", {}, reason)));
  return [...starts, ...goesOn];
}

function sizeOf({ trials, took_min: minutes }) {
  const time = minutes ? `took ${minutes} min last time` : "not run to its end here yet";
  return trials ? `${trials} trials; ${time}` : time;
}

async function showCode() {
  const reply = await act("/show-code", {}, "The machine shows the code for a few minutes.");
  if (reply.ok) byId("code").focus();
}

async function sendCode(event) {
  event.preventDefault();
  const code = byId("code").value;
  byId("code").value = "";
  await act("/arm", { code }, "One start is allowed now.");
}

async function start(what) {
  await act("/start", { ...what, pressed_at: hostNow() }, "Asked for. The machine gets ready, and asks before it moves.");
}

function tick() {
  const left = Math.max(0, Math.round((armedUntil - hostNow()) / 1000));
  const seconds = String(left % 60).padStart(2, "0");
  say("armed-for", `One start is allowed for ${Math.floor(left / 60)} min ${seconds} s. Before anything moves you are asked again: answer only where you see the machine.`);
}

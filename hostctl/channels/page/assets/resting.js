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
      html("p", { id: "armed-for" })),
    html("div", { id: "offered" },
      html("h3", {}, "What can be started"),
      html("ul", { id: "choices" })),
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
  const choices = JSON.stringify([view.machine, Boolean(view.armed), studies, stopped_runs]);
  if (choices !== shown) {
    shown = choices;
    byId("choices").replaceChildren(...choicesOf(studies, stopped_runs, Boolean(view.armed)));
  }
  show("offered", byId("choices").children.length > 0);
}

function choicesOf(studies, stoppedRuns, armed) {
  const starts = studies.map(({ study, ...plan }) =>
    offered(armed, "Start:", { study }, plan.title || study, plan.title ? study : "", sizeOf(plan)));
  const goesOn = stoppedRuns.map(({ run, study, reason }) =>
    offered(armed, "Go on with", { resume: run }, `run ${run}: ${study}`, "", reason));
  return [...starts, ...goesOn];
}

// A button while a start is allowed; before that it says what there is.
function offered(armed, verb, what, name, also, size) {
  const told = [html("b", {}, armed ? `${verb} ${name}` : name), html("small", {}, also), html("small", {}, size)];
  return html("li", {}, armed ? html("button", { type: "button", onclick: () => start(what) }, ...told) : html("div", {}, ...told));
}

function sizeOf({ size, took }) {
  return [size, took ? `took ${took} last time` : "not run to its end here yet"].filter(Boolean).join("; ");
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

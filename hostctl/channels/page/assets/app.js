// The page put together: how each machine stands in, presses out.
import { byId, html, say, show } from "./make.js";
import { follow, hostNow } from "./live.js";
import { post, useToken } from "./send.js";
import { attemptOf, render, sentence, shownText, stateOf, whose } from "./screen.js";
import { askFor, isNumber, makeEntry, meaning, typed } from "./entry.js";
import { allow, showWhich } from "./which.js";
import { makeResting, renderResting } from "./resting.js";
import { makeReport, renderReport } from "./report.js";
import { inMm } from "./dots.js";
import { lookBelow, watchBelow } from "./below.js";
import { hush, offerVoice, readAloud } from "./aloud.js";
import { allowSoundAfterTouch, signalPrompt, signalTrouble } from "./signal.js";
import { listenToKeys } from "./keys.js";
import { stayAwake } from "./awake.js";
import { bringSettings, withdrawInvitation } from "./settings.js";

// A prompt that has only just appeared can't be answered yet: the press was meant for another.
const SETTLES_MS = 600;
const SURE = {
  redo: [redoes, "Yes, redo"],
  skip: [({ view: { prompt } }) => `Skip trial ${prompt.trial} of ${whose(prompt)}? It stays without a reading.`, "Yes, skip"],
  end: [() => "End the run? What was read is kept, and the run can be gone on with.", "Yes, end the run"],
};
const STOP_UNDERWAY_MS = 400;
const STILL_GOING = "STOP is on its way. If the machine goes on, switch off its mains.";

const stations = new Map();
let machines = {};
let host = ""; // another after each start of it
let chosen = location.hash.slice(1); // names are plain: a-z, 0-9, hyphens
let lineIsLive = false;
let promptId = "";
let asked = null; // the prompt that was open last
let settledAt = 0;
let sentFor = ""; // the prompt that was answered from here
let typesZero = false;
let sureOf = "";
let tabbed = ""; // the machines that have a tab
let draft = null; // the script of a study by questions: fetched once somebody makes one

const station = () => stations.get(chosen);

// ------------------------------------------------------------------ what comes in

function hello(told) {
  useToken(told.token);
  machines = told.machines;
  for (const known of stations.keys()) if (!machines[known]) stations.delete(known);
  if (!machines[chosen]) chosen = Object.keys(machines)[0];
  show("invite", told.pairing);
  if (host && host !== told.host) withdrawInvitation("The host was started again: the code that was shown here is not taken any more.");
  host = told.host;
}

function taken(told) {
  const { machine, standing } = told.view;
  const before = stations.get(machine);
  stations.set(machine, told);
  if (machine !== chosen) return renderMachines();
  const stands = standing === "holding" || standing === "halted";
  if (before && stands && before.view.standing !== standing) signalTrouble();
  refresh();
}

function line(isLive, why) {
  if (isLive === lineIsLive && !why) return;
  lineIsLive = isLive;
  document.body.dataset.line = isLive ? "live" : "lost";
  say("lost", isLive ? "" : `Connection lost. ${why} What you see may be old, and buttons other than HOLD and STOP do nothing until it is back. The mains switch always works.`);
  refreshButtons();
}

// ------------------------------------------------------------------ what is shown

function refresh() {
  const now = station();
  if (!now) return;
  const { prompt } = now.view;
  const id = prompt?.prompt_id || "";
  const isNew = id !== promptId;
  if (isNew) newPrompt(id, prompt);
  render(now, machines[chosen]);
  renderMachines();
  renderReport(now.view, machines[chosen]);
  renderResting(now);
  draft?.renderDraft(now);
  readAloud(now, stateOf(now.view), shownText(now));
  refreshButtons();
  if (isNew && id) scrollTo({ top: byId("machines").offsetHeight }); // other machines are above
}

function newPrompt(id, prompt) {
  const keeps = isAskedAgain(prompt) && typed() !== "";
  promptId = id;
  sureOf = "";
  settledAt = performance.now() + SETTLES_MS;
  if (prompt) {
    asked = prompt;
    typesZero = keeps && typesZero;
    askFor(prompt, keeps);
  }
  say("note", keeps ? "Somebody else’s entry was not taken. What you typed is still here, and not sent." : "");
  if (id) {
    signalPrompt(prompt.choices.length > 0);
    setTimeout(refreshButtons, SETTLES_MS + 20);
  }
}

// The same is asked once more, because of an entry that was not made here.
function isAskedAgain(prompt) {
  return Boolean(prompt && asked) && attemptOf(prompt) === attemptOf(asked) && sameDeed(prompt, asked) && sentFor !== asked.prompt_id;
}

const sameDeed = (one, other) => JSON.stringify(one.deed) === JSON.stringify(other.deed);

// Which reading it would be.
function redoes({ view: { prompt }, plot }) {
  if (prompt.redo_takes === null) return `Begin ${numbered(prompt.trial)} of ${whose(prompt)} anew? Nothing of it is kept yet.`;
  const newest = plot.values_mm.at(-1);
  const shown = prompt.redo_takes > 0 && newest !== undefined ? ` (${inMm(newest, plot.resolution_mm)} mm)` : "";
  return `Take ${numbered(prompt.redo_takes)}${shown} of ${whose(prompt)} again? What was kept is marked void and stays on record.`;
}

const numbered = (trial) => (trial === 0 ? "the zero" : `trial ${trial}`);

const settled = () => performance.now() >= settledAt;
const canAnswer = () => lineIsLive && promptId && settled() && sentFor !== promptId;
const wantsNumber = (prompt) => prompt?.kind === "read" || (prompt?.kind === "zero" && typesZero);

function refreshButtons() {
  if (!station()) return;
  const { view } = station();
  const { prompt } = view;
  const number = wantsNumber(prompt);
  const enters = Boolean(prompt) && number;
  document.body.dataset.entry = enters ? "open" : "";
  show("entry", enters);
  show("type-it", prompt?.kind === "zero" && !typesZero);
  const chooses = Boolean(prompt?.choices.length);
  if (chooses) showWhich(prompt.choices, choose);
  show("which", chooses && !sureOf);
  allow(canAnswer());
  show("done", Boolean(prompt) && !chooses && prompt.kind !== "send" && !sureOf);
  show("call-off", stateOf(view) === "countdown");
  show("others", Boolean(prompt) && !sureOf);
  show("redo", Boolean(prompt?.answers.includes("redo")));
  show("skip", Boolean(prompt?.answers.includes("skip")));
  show("sure", Boolean(sureOf));
  show("next", !sureOf);
  show("dock", Boolean(prompt) || stateOf(view) === "countdown" || byId("note").textContent !== "");
  say("done-label", doneLabel(view, number));
  byId("done").disabled = !canAnswer() || (number && !isNumber());
  document.body.dataset.settled = String(settled());
  lookBelow();
  stayAwake(view.run !== null);
  for (const id of ["redo", "skip", "end", "sure-yes"]) byId(id).disabled = !canAnswer();
  for (const button of document.querySelectorAll("#resting button, #report button, #invite, #draft-begin")) button.disabled = !lineIsLive;
}

function doneLabel({ prompt, standing, stopped }, number) {
  if (sentFor && sentFor === promptId) return "Being kept …";
  if (number) return isNumber() ? `KEEP ${meaning()}` : `Type the ${prompt.deed.do === "try-blade" ? "thickness" : "reading"}`;
  if (standing === "holding" || standing === "halted") return stopped ? "DONE: it homes" : "DONE, go on";
  if (prompt?.kind === "zero") return "DONE, it shows zero";
  if (prompt?.kind === "set") return "DONE, the gap is set";
  return "DONE";
}

// Always in this order; a tab stays the same element, so that neither a press nor the focus is lost.
function renderMachines() {
  const named = Object.keys(machines).filter((name) => stations.has(name));
  show("machines", named.length > 1);
  if (named.join() !== tabbed) byId("machines").replaceChildren(...named.map(tabOf));
  tabbed = named.join();
  [...byId("machines").children].forEach((tab, index) => {
    const { standing } = stations.get(named[index]).view;
    tab.firstChild.hidden = !["asking", "holding", "halted"].includes(standing);
    if (named[index] === chosen) tab.setAttribute("aria-current", "true");
    else tab.removeAttribute("aria-current");
  });
}

function tabOf(name) {
  return html("button", { type: "button", onclick: () => turnTo(name) }, html("b", {}, "asks "), name);
}

function turnTo(machine) {
  chosen = machine;
  location.replace(`#${machine}`);
  refresh();
}

// ------------------------------------------------------------------ what goes out

// Posts for the machine on the screen; says what came of it.
async function act(path, body, done = "") {
  const reply = await post(path, { machine: chosen, ...body });
  note(reply.ok ? done : `Not taken. ${sentence(reply.reason)}`);
  return reply;
}

function note(text) {
  say("note", text);
  refreshButtons();
}

async function answer(word, choice = "") {
  if (!canAnswer()) return;
  const id = promptId;
  sentFor = id;
  sureOf = "";
  hush();
  refreshButtons();
  const body = { prompt_id: id, word, typed: word === "reading" ? typed() : "", choice, pressed_at: hostNow() };
  const reply = await act("/answer", body);
  if (!reply.ok && sentFor === id) sentFor = "";
  if (!reply.ok && promptId !== id) note("Somebody’s answer came before yours, so yours was not used. Look at what is asked now.");
  refreshButtons();
}

function done() {
  if (byId("done").hidden || byId("done").disabled) return;
  answer(wantsNumber(station().view.prompt) ? "reading" : "done");
}

const choose = (word) => answer("chosen", word);

function beSure(word) {
  sureOf = word;
  say("sure-what", SURE[word][0](station()));
  say("sure-yes", SURE[word][1]);
  refreshButtons();
  byId("sure-no").focus();
}

async function beginDraft() {
  try {
    draft ||= await import("./draft.js");
  } catch {
    return note("Not begun: it did not get through to the host.");
  }
  draft.begin(station());
}

const hold = () => act("/hold", {}, "On hold.");

async function stop() {
  const underway = setTimeout(() => sayAlarm(STILL_GOING, ""), STOP_UNDERWAY_MS);
  const reply = await post("/halt", { machine: chosen });
  clearTimeout(underway);
  sayAlarm(reply.ok ? "" : "STOP did not get through: switch off the machine’s mains.", reply.ok ? "" : sentence(reply.reason));
  note(reply.ok ? "STOP was given; the machine is told to halt. If it goes on, switch off its mains." : "");
}

// Louder than all else, until a STOP is taken.
function sayAlarm(what, why) {
  say("alarm-what", what);
  say("alarm-why", why);
  show("alarm", Boolean(what));
}

// Stopping waits for no release: it acts as the finger comes down, however long it stays there. A
// click that follows no finger is a key's or a screen reader's.
function stopAtOnce() {
  let isDown = false;
  let liftedAt = -1000;
  byId("stop").addEventListener("pointerdown", () => {
    isDown = true;
    stop();
  });
  byId("stop").addEventListener("pointerup", () => {
    if (isDown) liftedAt = performance.now();
    isDown = false;
  });
  byId("stop").addEventListener("click", () => {
    if (performance.now() - liftedAt > 1000) stop();
  });
}

function listenToButtons() {
  stopAtOnce();
  byId("hold").addEventListener("click", hold);
  byId("call-off").addEventListener("click", hold);
  byId("done").addEventListener("click", done);
  byId("entry").addEventListener("submit", (event) => event.preventDefault());
  byId("type-it").addEventListener("click", () => {
    typesZero = true;
    refreshButtons();
    byId("typed").focus();
  });
  for (const word of Object.keys(SURE)) byId(word).addEventListener("click", () => beSure(word));
  byId("sure-yes").addEventListener("click", () => answer(sureOf));
  byId("sure-no").addEventListener("click", () => {
    sureOf = "";
    refreshButtons();
  });
}

makeEntry(refreshButtons);
makeReport(act);
makeResting(act);
byId("draft-begin").addEventListener("click", beginDraft);
listenToButtons();
listenToKeys();
watchBelow();
allowSoundAfterTouch();
bringSettings(act);
offerVoice();
follow({ hello, station: taken, line });

// A study by questions, one at a time. Every answer is kept on this phone as it was typed, and all of
// them are sent each time: the host says the next question, or what is wrong with the last answer.
import { byId, html, show } from "./make.js";
import { post } from "./send.js";

let machine = "";
let open = false;
let answers = []; // [key, text], oldest first
const before = new Map(); // what was answered where one has gone back
let busy = false;
let calm = true; // the machine asks nothing and does nothing

const keptAs = () => `draft ${machine}`;

byId("draft-leave").addEventListener("click", () => {
  open = false;
  place();
  byId("draft-begin").focus();
});
byId("draft-back").addEventListener("click", () => {
  before.set(...answers.at(-1));
  answers = answers.slice(0, -1);
  ask();
});
byId("draft-anew").addEventListener("click", () => {
  answers = [];
  ask();
});

export function begin(station) {
  renderDraft(station);
  open = true;
  byId("draft-leave").textContent = "Leave it";
  answers = recall();
  ask();
}

// It makes room for whatever the machine asks or does, and is there again afterwards.
export function renderDraft({ view }) {
  if (view.machine !== machine) open = false;
  machine = view.machine;
  calm = !view.prompt && !["moving", "holding", "asking"].includes(view.standing);
  place();
}

function place() {
  show("draft", open && calm);
  document.body.dataset.drafting = String(open && calm);
}

// ------------------------------------------------------------------ to the host and back

// `added`: the answer just given; none: where the answers so far lead.
async function ask(added) {
  if (busy) return;
  const sent = added ? [...answers, added] : answers;
  const of = machine;
  wait(true);
  const reply = await post("/draft", { machine, answers: sent });
  wait(false);
  if (of !== machine) return;
  place();
  if (!reply.ok) return wrong(reply.reason);
  const { question, unclear, taken } = reply.told;
  if (unclear && added) return wrong(unclear);
  answers = sent.slice(0, taken);
  keep();
  if (question) tellQuestion(question, unclear);
  else tellWhole(reply.told);
}

async function save(study) {
  wait(true);
  const reply = await post("/draft/keep", { machine, answers });
  wait(false);
  if (!reply.ok) return wrong(reply.reason);
  answers = [];
  keep();
  byId("draft-asked").replaceChildren(
    heading("It is kept"),
    html("p", {}, `${study} can be started now, like every other study. Its file lies with the others beside the host, to be read and changed there; what is changed counts once the daemon is restarted.`),
  );
  show("draft-back", false);
  show("draft-anew", false);
  byId("draft-leave").textContent = "To the studies";
  byId("draft-title").focus();
}

function wait(is) {
  busy = is;
  for (const each of document.querySelectorAll("#draft button, #draft input")) each.disabled = is;
}

function wrong(why) {
  byId("draft-wrong").textContent = why;
  (byId("draft-typed") || byId("draft-title"))?.focus();
}

// ------------------------------------------------------------------ one question

function tellQuestion(question, unclear) {
  byId("draft-asked").replaceChildren(
    html("p", { class: "count" }, `Question ${answers.length + 1}`),
    heading(question.text),
    html("div", { id: "draft-why" }, ...linesOf(question.why)),
    ...meanings(question.words),
    answering(question),
  );
  settle(unclear);
}

// What begins with "20: …" is one of several numbers to choose from, and has a line of its own.
const linesOf = (why) => why.split(/(?<=\.) (?=\d+: )/).map((text) => html("p", {}, text));

const heading = (text) => html("h4", { id: "draft-title", tabindex: "-1" }, text);

function meanings(words) {
  const pairs = Object.entries(words);
  if (!pairs.length) return [];
  const told = pairs.map(([word, meaning]) => html("div", {}, html("dt", {}, word), html("dd", {}, meaning)));
  return [html("details", {}, html("summary", {}, `What it means: ${pairs.map(([word]) => word).join(", ")}`), html("dl", {}, ...told))];
}

function answering(question) {
  const say = (text) => ask([question.key, text]);
  if (question.kind === "choice") {
    return html("div", { class: "ways", role: "group", "aria-labelledby": "draft-title" }, ...question.ways.map((way) => wayOf(way, question, say)));
  }
  const form = html("form", { class: "answering" });
  form.append(...(question.kind === "several" ? boxes(question) : [typing(question)]));
  form.append(html("button", { type: "submit", class: "done" }, "NEXT"));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    say(question.kind === "several" ? ticked(form) : byId("draft-typed").value);
  });
  return form;
}

function wayOf({ word, text }, { suggested }, say) {
  const usual = word === suggested ? html("small", { class: "usual" }, "suggested") : "";
  return html("button", { type: "button", onclick: () => say(word) }, html("b", {}, word), html("small", {}, text), usual);
}

function boxes({ ways, suggested }) {
  const usual = suggested === "all" ? ways.map(({ word }) => word) : suggested.split(/[\s,]+/);
  return ways.map(({ word, text }) => {
    const box = html("input", { type: "checkbox", value: word });
    box.checked = usual.includes(word);
    return html("label", { class: "box" }, box, html("span", {}, html("b", {}, word), html("small", {}, text)));
  });
}

// Nothing ticked is said to be nothing, and not what was suggested.
const ticked = (form) => [...form.querySelectorAll("input:checked")].map((box) => box.value).join(", ") || "none";

function typing({ key, kind, suggested, unit }) {
  const input = html("input", {
    id: "draft-typed", type: "text", autocomplete: "off", autocapitalize: "off", spellcheck: "false", maxlength: "500",
    inputmode: kind === "text" ? "text" : kind === "whole" ? "numeric" : "decimal",
    "aria-labelledby": "draft-title", "aria-describedby": "draft-wrong draft-why",
  });
  input.value = before.get(key) ?? suggested;
  return html("div", { class: "shown" }, input, html("span", {}, unit));
}

// ------------------------------------------------------------------ all answered

function tellWhole({ study, foreseen, file }) {
  byId("draft-asked").replaceChildren(
    heading("This is what the study will be"),
    html("ul", {}, ...foreseen.map((text) => html("li", {}, text))),
    html("details", {}, html("summary", {}, `The file ${study}.yaml`), html("pre", { tabindex: "0" }, file)),
    html("button", { type: "button", class: "done", onclick: () => save(study) }, "KEEP THE STUDY"),
    html("p", {}, "Nothing moves by it. A start asks for somebody at the machine, as ever."),
  );
  settle("");
}

function settle(unclear) {
  byId("draft-wrong").textContent = unclear;
  show("draft-back", answers.length > 0);
  show("draft-anew", answers.length > 0);
  byId("draft-title").focus({ preventScroll: true });
  byId("draft").scrollIntoView();
}

// ------------------------------------------------------------------ kept on this phone

function keep() {
  try {
    if (answers.length) localStorage.setItem(keptAs(), JSON.stringify(answers));
    else localStorage.removeItem(keptAs());
  } catch {
    // a private window keeps nothing
  }
}

function recall() {
  try {
    return JSON.parse(localStorage.getItem(keptAs())) || [];
  } catch {
    return [];
  }
}

// One station onto the screen. Decides nothing: what may be pressed is app.js's matter.
import { byId, say, show } from "./make.js";
import { bed, turning } from "./drawing.js";
import { loopChart, loopSays } from "./chart.js";
import { dotPlot, inMm } from "./dots.js";
import { bedMap, bedSays } from "./map.js";

const STANDINGS = {
  "no line": "no line to it",
  "own job": "not ours now",
  resting: "at rest",
  moving: "may move",
  asking: "waits for you",
  holding: "on hold",
  halted: "halted",
};
let drawn = "";
let plotted = "";
let mapped = "";

export function stateOf(view) {
  if (view.countdown && view.standing === "moving") return "countdown";
  if (view.stopped || view.standing === "halted") return "stopped";
  return view.standing.replace(" ", "-");
}

export const whose = ({ method, operator, point }) => [method, operator, point].filter(Boolean).join(" · ");

// The same for all prompts about one attempt at one trial.
export const attemptOf = ({ run, block, round, trial, attempt }) => [run, block, round, trial, attempt].join();

export function render(station, geometry) {
  const { view } = station;
  document.body.dataset.state = stateOf(view);
  document.body.dataset.prompt = view.prompt?.prompt_id || "";
  document.title = `${station.headline} · ${view.machine}`;
  say("machine", view.machine);
  say("standing", standingOf(view));
  words(station);
  draw(station, geometry);
  live(view);
  if (view.trace) loop(view);
  else readings(station.plot);
  map(view.bed, geometry);
  where(view);
}

function words(station) {
  const { view, headline } = station;
  const { prompt, countdown } = view;
  const counting = stateOf(view) === "countdown";
  person(prompt);
  say("headline", counting ? "Moves in" : headline);
  show("count", counting);
  say("count", counting ? String(countdown.seconds_left) : "");
  say("text", textOf(station, counting));
  say("mind", mindOf(view));
  say("simulated", station.simulated);
  say("heat", view.heat ? `Heat: ${view.heat}.` : "");
  say("detail", detailOf(view));
  say("warnings", view.warnings.map((text) => sentence(text)).join(" "));
  say("next", prompt?.moves_next ? `Hands out first. After that: ${prompt.moves_next}` : "");
  say("spoken", spoken(station, counting));
}

// Who and by which method: to be read from where the screw is.
function person(prompt) {
  const inHeadline = prompt && (prompt.deed.do === "change-hands" || (prompt.new_hands && prompt.kind !== "read" && prompt.kind !== "zero"));
  say("who", (!inHeadline && prompt?.operator) || "");
  say("by", (!inHeadline && prompt?.method) || "");
  say("at", prompt?.point || "");
}

function standingOf({ not_told, standing }) {
  if (not_told) return "not told";
  return STANDINGS[standing];
}

function mindOf({ standing, not_told, taken_anew: count }) {
  if (not_told) return "The machine was not told: switch it off at the mains.";
  if (standing === "moving") return "Hands out of the machine.";
  if (!count) return "";
  return `The block begins again: ${count === 1 ? "1 reading is" : `${count} readings are`} taken anew.`;
}

function detailOf({ prompt, standing, finished }) {
  // In other words it stands right above the key; here it would come before what hands do.
  if (prompt) return prompt.detail.replace(/ ?Take your hands out of the machine first\.$/, "");
  return standing === "no line" ? ending(finished) : "";
}

// What stands below the headline.
export const shownText = (station) => textOf(station, stateOf(station.view) === "countdown");

function textOf({ view, notice }, counting) {
  if (view.prompt) return view.prompt.text.replace(/^STOPPED\. /, ""); // the headline says it
  if (counting) return view.countdown.what;
  switch (view.standing) {
    case "moving": return view.moving || "The run goes on by itself; stand clear.";
    case "holding": return sentence(view.hold);
    case "halted": return sentence(view.halted);
    case "no line": return sentence(view.why_no_line);
    case "own job": return sentence(view.own_job);
    default: return atRest(view, notice);
  }
}

function atRest({ queued, finished }, notice) {
  if (queued) return "A run was asked for. The machine gets ready, and asks before it moves.";
  return notice || ending(finished) || "Nothing is going on.";
}

function ending(finished) {
  if (!finished) return "";
  return `Run ${finished.run} ${finished.complete ? "is complete" : "ended early"}: ${finished.reason}.`;
}

export function sentence(words) {
  const ended = /[.!?]$/.test(words) ? words : `${words}.`;
  return words && ended[0].toUpperCase() + ended.slice(1);
}

// The countdown is told once, not every second.
function spoken(station, counting) {
  if (counting) return `The machine is about to move. Hands out of it. ${station.view.countdown.what}`;
  return `${station.headline}. ${textOf(station, false)}`;
}

function draw({ view, point }, geometry) {
  const turn = turnOf(view.prompt);
  const wanted = JSON.stringify([view.machine, point, turn]);
  if (wanted === drawn) return;
  drawn = wanted;
  const drawings = [bed(geometry, point, turn?.screw)];
  document.body.dataset.point = point || "";
  if (turn) drawings.push(turning(turn));
  byId("drawings").replaceChildren(...drawings);
}

// What the arc arrow is drawn from; null where the way is not known.
function turnOf(prompt) {
  const deed = prompt?.deed;
  if (deed?.do !== "turn-screw" || !deed.direction) return null;
  const clockwise = (deed.direction === "clockwise") === (deed.seen_from === "above");
  return { deg: deed.turn_deg, clockwise, screw: deed.screw, from: deed.seen_from };
}

// The number at the indicator beside the one that it is to show.
function live({ live: told, prompt }) {
  const now = told && prompt?.prompt_id === told.prompt_id;
  show("live", Boolean(now));
  if (!now) return;
  say("live-now", inMm(told.present_mm, told.resolution_mm));
  show("live-to", told.target_mm !== null);
  if (told.target_mm !== null) say("live-target", inMm(told.target_mm, told.resolution_mm));
}

function loop({ trace, resolution_mm: resolution }) {
  show("readings", true);
  const wanted = JSON.stringify(trace);
  if (wanted === plotted) return;
  plotted = wanted;
  say("readings-whose", loopSays(trace, resolution));
  byId("dots").replaceChildren(loopChart(trace, resolution));
}

function map(bed, geometry) {
  show("bed-map", Boolean(bed));
  const wanted = JSON.stringify(bed);
  if (wanted === mapped || !bed) return;
  mapped = wanted;
  say("bed-says", bedSays(bed));
  byId("map").replaceChildren(bedMap(geometry, bed));
}

function readings(plot) {
  show("readings", plot.values_mm.length > 0);
  const wanted = JSON.stringify(plot);
  if (wanted === plotted || !plot.values_mm.length) return;
  plotted = wanted;
  const newest = inMm(plot.values_mm.at(-1), plot.resolution_mm);
  say("readings-whose", `${plot.whose ? `${plot.whose}: ` : ""}n = ${plot.values_mm.length}, newest ${newest} mm`);
  byId("dots").replaceChildren(dotPlot(plot));
}

function where({ run }) {
  show("where", Boolean(run));
  say("brief", run ? `${run.trials_done} of ${run.trials_total} done` : "");
  if (!run) return;
  say("study", run.study);
  say("run", String(run.run));
  say("done-of", `${run.trials_done} of ${run.trials_total}`);
  say("left", run.seconds_left === null ? "not known yet" : `about ${Math.max(1, Math.round(run.seconds_left / 60))} min`);
  show("progress", run.trials_done > 0); // an empty bar looks like an empty row
  byId("progress").value = run.trials_total ? run.trials_done / run.trials_total : 0;
}

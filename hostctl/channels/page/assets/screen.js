// One sheet onto the screen. Decides nothing: what may be pressed is app.js's matter.
import { byId, say, show } from "./make.js";
import { bed, turning } from "./drawing.js";
import { dotPlot, inMm } from "./dots.js";

const STANDINGS = {
  "no line": "no line to it",
  "own job": "not ours now",
  resting: "at rest",
  moving: "may move",
  asking: "waits for you",
  holding: "on hold",
};
let drawn = "";
let plotted = "";

export function stateOf(sheet) {
  if (sheet.countdown && sheet.standing === "moving") return "countdown";
  if (sheet.by_stop) return "stopped";
  return sheet.standing.replace(" ", "-");
}

export function render(sheet, geometry) {
  document.body.dataset.state = stateOf(sheet);
  document.body.dataset.prompt = sheet.prompt?.id || "";
  document.title = `${sheet.headline} · ${sheet.machine}`;
  say("machine", sheet.machine);
  say("standing", standingOf(sheet));
  words(sheet);
  draw(sheet, geometry);
  readings(sheet.plot);
  where(sheet);
}

function words(sheet) {
  const { prompt, countdown } = sheet;
  const counting = stateOf(sheet) === "countdown";
  say("whose", prompt?.whose || "");
  say("headline", counting ? "Moves in" : sheet.headline);
  show("count", counting);
  say("count", counting ? String(countdown.seconds_left) : "");
  say("text", textOf(sheet, counting));
  say("mind", mindOf(sheet));
  say("simulated", prompt?.simulated || "");
  say("heat", sheet.heat ? `Heat: ${sheet.heat}.` : "");
  say("detail", detailOf(sheet));
  say("warnings", sheet.warnings.map((text) => sentence(text)).join(" "));
  say("next", prompt?.moves_next ? `Hands out first. After that: ${prompt.moves_next}` : "");
  say("spoken", spoken(sheet, counting));
}

function standingOf({ by_stop, not_told, standing }) {
  if (not_told) return "not told";
  return by_stop ? "stopped" : STANDINGS[standing];
}

function mindOf({ standing, not_told, taken_anew: count }) {
  if (not_told) return "The machine was not told: switch it off at the mains.";
  if (standing === "moving") return "Hands out of the machine.";
  if (!count) return "";
  return `The block begins again: ${count === 1 ? "1 reading is" : `${count} readings are`} taken anew.`;
}

function detailOf({ prompt, standing, finished }) {
  if (prompt) return prompt.detail;
  return standing === "no line" ? ending(finished) : "";
}

function textOf(sheet, counting) {
  if (sheet.prompt) return sheet.prompt.text.replace(/^STOPPED\. /, ""); // the headline says it
  if (counting) return sheet.countdown.what;
  switch (sheet.standing) {
    case "moving": return sheet.moving || "The run goes on by itself; stand clear.";
    case "holding": return sentence(sheet.hold);
    case "no line": return sentence(sheet.why_unreachable);
    case "own job": return sentence(sheet.own_job);
    default: return atRest(sheet);
  }
}

function atRest({ queued, finished, notice }) {
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
function spoken(sheet, counting) {
  if (counting) return `The machine is about to move. Hands out of it. ${sheet.countdown.what}`;
  return `${sheet.headline}. ${textOf(sheet, false)}`;
}

function draw(sheet, geometry) {
  const turn = sheet.prompt?.turn;
  const wanted = JSON.stringify([sheet.machine, sheet.point, turn]);
  if (wanted === drawn) return;
  drawn = wanted;
  const drawings = [bed(geometry, sheet.point, turn?.screw)];
  document.body.dataset.point = sheet.point || "";
  if (turn) drawings.push(turning(turn));
  byId("drawings").replaceChildren(...drawings);
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
  say("brief", run ? `${run.done} of ${run.total} done` : "");
  if (!run) return;
  say("study", run.study);
  say("run", String(run.run));
  say("done-of", `${run.done} of ${run.total}`);
  say("left", run.minutes_left === null ? "not known yet" : `about ${run.minutes_left} min`);
  show("progress", run.done > 0); // an empty bar looks like an empty row
  byId("progress").value = run.total ? run.done / run.total : 0;
}

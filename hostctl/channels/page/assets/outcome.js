// What came out of the last run: the answer, every setting as a dot on one scale, what to be wary
// of, what comes next. The host worked it out beside the report; here it is only drawn.
import { byId, html, say, show, svg } from "./make.js";
import { inMm } from "./dots.js";
import { bedMap } from "./map.js";

const WIDE = 320;
const SIDE = 12;
const FINE = 1e-6; // mm: less is what binary fractions add
const TALLEST_PX = 84;
const WAIT_MS = 5_000;
const GO_ON = "The run ended early: go on with it first, at the trial where it stopped.";
let wanted = ""; // the file whose outcome is shown or on its way
let arrived = true; // or it is known that there is none

// `report`: as the view has it; of one that isn't made nothing is shown. `then()`: once it is here.
// Gives whether there is nothing to wait for.
export function outcomeIsHere(report, geometry, then) {
  const made = report?.standing === "made" ? `${report.run} ${report.file_name}` : "";
  if (made !== wanted) {
    wanted = made;
    arrived = !made;
    show("outcome", false);
    say("outcome-of", "");
    say("outcome-asked", "");
    if (made) bring(report, geometry).then(then);
  }
  return arrived;
}

export const hasOutcome = () => arrived && !byId("outcome").hidden;

async function bring(report, geometry) {
  const of = wanted;
  const outcome = await brought(report.run);
  if (wanted !== of) return;
  arrived = true;
  if (outcome?.version === 1) tell(outcome, report.complete, geometry);
}

async function brought(run) {
  try {
    const reply = await fetch(`/reports/${run}/outcome`, { signal: AbortSignal.timeout(WAIT_MS) });
    return reply.status === 200 ? await reply.json() : null; // an older report has none
  } catch {
    return null;
  }
}

function tell({ title, question, drawn, answer, cautions, next_steps: next }, complete, geometry) {
  say("outcome-of", title);
  say("outcome-asked", question);
  byId("outcome-answer").replaceChildren(...answer.map(paragraph));
  byId("outcome-figure").replaceChildren(...figure(drawn, geometry));
  byId("outcome-next").replaceChildren(...[...(complete ? [] : [GO_ON]), ...next].map(paragraph));
  byId("outcome-cautions").replaceChildren(...cautions.map((text) => html("li", {}, text)));
  say("outcome-wary", `Before believing it: ${cautions.length} to read`);
  show("outcome-wary-part", cautions.length > 0);
  show("outcome", true);
}

const paragraph = (text) => html("p", {}, text);

function figure(drawn, geometry) {
  if (drawn?.kind === "dots") return [dotRows(drawn), html("p", { class: "says" }, drawn.says)];
  if (drawn?.kind === "bed") return [bedMap(geometry, drawn), html("p", { class: "says" }, drawn.says)];
  return [];
}

// ------------------------------------------------------------------ every setting as a dot

// Rows below each other on one scale; each with its head, its limits and, of a gap, its mean.
export function dotRows(drawn) {
  const scale = scaleOf(drawn);
  const drawing = svg("svg", { class: "rows", role: "img", "aria-label": inWords(drawn) });
  let y = 4;
  for (const row of drawn.rows) y = drawnRow(drawing, row, drawn, scale, y);
  y = foot(drawing, drawn, scale, y);
  drawing.setAttribute("viewBox", `0 0 ${WIDE} ${y}`);
  return drawing;
}

// Wide enough for every dot, each row's limits and its mean.
function scaleOf({ rows, within_mm: within, step_mm: step }) {
  const ends = rows.flatMap((row) => [
    row.about_mm,
    ...(within === null ? [] : [row.about_mm - within, row.about_mm + within]),
    ...row.dots.map((dot) => dot.value_mm),
    ...(row.mean ? [row.mean.value_mm] : []),
  ]);
  const low = Math.min(...ends) - step;
  const high = Math.max(...ends) + step;
  const perMm = (WIDE - 2 * SIDE) / (high - low);
  const pitch = Math.max(3.4, Math.min(11, step * perMm)); // from dot to dot
  const most = Math.max(...rows.map((row) => Math.max(0, ...stacked(row, low, perMm, pitch).values())));
  return { low, high, perMm, pitch, rise: Math.min(pitch, TALLEST_PX / most), x: (mm) => SIDE + (mm - low) * perMm };
}

// How many dots stand in each column.
function stacked(row, low, perMm, pitch) {
  const heaps = new Map();
  for (const { value_mm: mm, count } of row.dots) {
    const column = columnOf(mm, low, perMm, pitch);
    heaps.set(column, (heaps.get(column) || 0) + count);
  }
  return heaps;
}

const columnOf = (mm, low, perMm, pitch) => Math.round(((mm - low) * perMm) / pitch + FINE);

// All notes beside their labels, or all below them.
const ROOM = 38; // letters of a line
const notesBelow = (rows) => rows.some((row) => row.label.length + row.note.length > ROOM);

function drawnRow(drawing, row, { within_mm: within, rows }, scale, top) {
  let y = top;
  if (row.head) drawing.append(svg("text", { class: "row-head", x: 2, y: (y += 17) }, row.head));
  drawing.append(svg("text", { class: "row-label", x: 2, y: (y += 17) }, row.label));
  const below = notesBelow(rows);
  drawing.append(svg("text", { class: below ? "row-note" : "row-note beside", x: below ? 2 : WIDE - 2, y: below ? (y += 17) : y }, row.note));
  const heaps = stacked(row, scale.low, scale.perMm, scale.pitch);
  const foot = y + 8 + Math.max(1, ...heaps.values()) * scale.rise;
  if (within !== null) {
    for (const end of [row.about_mm - within, row.about_mm + within]) {
      drawing.append(svg("path", { class: "limit", d: `M${scale.x(end)} ${y + 6}V${foot}` }));
    }
  }
  drawing.append(svg("path", { class: "ground", d: `M${SIDE / 2} ${foot}H${WIDE - SIDE / 2}` }));
  drawing.append(svg("path", { class: "tick zero", d: `M${scale.x(row.about_mm)} ${foot - 3}v6` }));
  dotsOf(drawing, row, scale, foot);
  return row.mean ? meanOf(drawing, row.mean, scale, foot) : foot + 8;
}

function dotsOf(drawing, row, scale, foot) {
  const heaps = new Map();
  for (const dot of row.dots) {
    const column = columnOf(dot.value_mm, scale.low, scale.perMm, scale.pitch);
    const kind = dot.outside ? "dot outside" : dot.doubted ? "dot doubted" : "dot";
    for (let each = 0; each < dot.count; each += 1) {
      const below = heaps.get(column) || 0;
      heaps.set(column, below + 1);
      const cx = SIDE + column * scale.pitch;
      drawing.append(svg("circle", { class: kind, cx, cy: foot - (below + 0.5) * scale.rise - 1, r: Math.min(scale.pitch, scale.rise) / 2 - 0.3 }));
    }
  }
}

// The mean gap and where it may lie; an end that is open or far off runs to the edge.
function meanOf(drawing, mean, scale, foot) {
  const y = foot + 10;
  const within = (mm, open) => (mm === null ? open : Math.min(WIDE - 2, Math.max(2, scale.x(mm))));
  drawing.append(
    svg("path", { class: "mean", d: `M${within(mean.low_mm, 2)} ${y}H${within(mean.high_mm, WIDE - 2)}` }),
    svg("circle", { class: "mean-dot", cx: scale.x(mean.value_mm), cy: y, r: 4 }),
  );
  return y + 9;
}

// The scale: a few figures at round steps.
function foot(drawing, drawn, scale, top) {
  const y = top + 4;
  const span = scale.high - scale.low;
  const every = [0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5].find((mm) => span / mm <= 5.5) || span;
  drawing.append(svg("path", { class: "axis", d: `M${SIDE / 2} ${y}H${WIDE - SIDE / 2}` }));
  for (let mark = Math.ceil(scale.low / every); mark * every <= scale.high; mark += 1) {
    const mm = mark * every;
    drawing.append(svg("path", { class: mark === 0 ? "tick zero" : "tick", d: `M${scale.x(mm)} ${y}v7` }));
    const at = Math.min(WIDE - 22, Math.max(22, scale.x(mm)));
    drawing.append(svg("text", { class: "figure", x: at, y: y + 21 }, signed(drawn) ? inMm(mm, every) : inMm(mm, every).replace("+", "")));
  }
  drawing.append(svg("text", { class: "figure", x: WIDE / 2, y: y + 39 }, `mm from ${drawn.counted_from}`));
  return y + 46;
}

// A gap has no sign; a distance from an average has.
const signed = ({ rows }) => rows.every((row) => row.about_mm === 0);

function inWords(drawn) {
  const fine = drawn.step_mm / 10;
  const rows = drawn.rows.map((row) => {
    const name = [row.head, row.label].filter(Boolean).join(", ");
    const values = row.dots.map((dot) => `${inMm(dot.value_mm, fine)}${dot.count > 1 ? ` (${dot.count} times)` : ""}${dot.outside ? " outside" : ""}`);
    const mean = row.mean ? `; mean ${inMm(row.mean.value_mm, fine)}` : "";
    return `${name}: ${row.note}: ${values.join(", ")}${mean}`;
  });
  return `${drawn.says} In mm from ${drawn.counted_from}. ${rows.join(". ")}.`;
}

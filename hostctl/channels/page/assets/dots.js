// The readings of a block, one dot each, stacked on the graduations of the indicator.
import { svg } from "./make.js";

const WIDE = 340;
const SIDE = 14;
const LEAST_SPAN = 8; // graduations

export function inMm(value, resolution) {
  const step = resolution || 0.001;
  let decimals = 0;
  while (decimals < 6 && Math.abs(Number(step.toFixed(decimals)) - step) > 1e-9) decimals += 1;
  const digits = Math.abs(value).toFixed(decimals);
  if (Number(digits) === 0) return digits;
  return (value < 0 ? "−" : "+") + digits;
}

export function dotPlot(plot) {
  const step = plot.resolution_mm || 0.001;
  const marks = plot.values_mm.map((value) => Math.round(value / step));
  const [low, high] = range(marks);
  const pitch = (WIDE - 2 * SIDE) / (high - low);
  const stacks = new Map();
  for (const mark of marks) stacks.set(mark, (stacks.get(mark) || 0) + 1);
  const tallest = Math.max(3, ...stacks.values());
  const r = Math.max(1.5, Math.min(8, pitch / 2 - 0.5, 54 / tallest));
  const floor = 6 + tallest * 2 * r;
  const x = (mark) => SIDE + (mark - low) * pitch;
  const drawing = svg("svg", {
    class: "plot",
    viewBox: `0 0 ${WIDE} ${floor + 30}`,
    role: "img",
    "aria-label": inWords(plot),
  });
  drawing.append(...scale(low, high, x, floor, step));
  const stacked = new Map();
  marks.forEach((mark, index) => {
    const below = stacked.get(mark) || 0;
    stacked.set(mark, below + 1);
    const newest = index === marks.length - 1;
    const cy = floor - r - below * 2 * r - 1;
    drawing.append(svg("circle", { class: newest ? "dot newest" : "dot", cx: x(mark), cy, r: r - 0.5 }));
  });
  return drawing;
}

function range(marks) {
  const low = Math.min(0, ...marks) - 1;
  const high = Math.max(0, ...marks) + 1;
  const spare = Math.max(0, LEAST_SPAN - (high - low));
  return [low - Math.ceil(spare / 2), high + Math.ceil(spare / 2)];
}

// A short tick a graduation, a long one with its figure every few.
function scale(low, high, x, floor, step) {
  const span = high - low;
  const every = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000].find((n) => span / n <= 6) || span;
  const ticks = span > 120 ? every : 1;
  const parts = [svg("path", { class: "axis", d: `M${SIDE - 8} ${floor}H${WIDE - SIDE + 8}` })];
  for (let mark = Math.ceil(low / ticks) * ticks; mark <= high; mark += ticks) {
    const named = mark % every === 0;
    parts.push(svg("path", { class: mark === 0 ? "tick zero" : "tick", d: `M${x(mark)} ${floor}v${named ? 9 : 5}` }));
    if (named) {
      const at = Math.min(WIDE - 23, Math.max(23, x(mark)));
      parts.push(svg("text", { class: "figure", x: at, y: floor + 25 }, inMm(mark * step, step)));
    }
  }
  return parts;
}

function inWords(plot) {
  const values = plot.values_mm.map((value) => inMm(value, plot.resolution_mm));
  return `${values.length} readings, mm, the newest last: ${values.join(", ")}`;
}

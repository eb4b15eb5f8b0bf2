// All readings of a loop in order, oldest left: a dot for each mean of neighbours, which count from
// the first touch of their point.
import { inMm } from "./dots.js";
import { svg } from "./make.js";

const WIDE = 340;
const HIGH = 130;
const LEFT = 64;
const EDGE = 12;

export function loopChart(trace, resolution) {
  const step = resolution || 0.001;
  const low = Math.min(...trace.means_mm);
  const high = Math.max(...trace.means_mm);
  const spare = Math.max(0, 4 * step - (high - low)) / 2 + step / 2;
  const [least, most] = [low - spare, high + spare];
  const x = (index) => LEFT + ((WIDE - LEFT - EDGE) * (index + 0.5)) / trace.means_mm.length;
  const y = (mm) => EDGE + ((HIGH - 2 * EDGE) * (most - mm)) / (most - least);
  const drawing = svg("svg", {
    class: "plot",
    viewBox: `0 0 ${WIDE} ${HIGH}`,
    role: "img",
    "aria-label": loopSays(trace, resolution),
  });
  drawing.append(svg("path", { class: "axis", d: `M${LEFT} ${EDGE / 2}V${HIGH - EDGE / 2}` }));
  for (const mm of [low, high]) {
    drawing.append(svg("text", { class: "figure end", x: LEFT - 6, y: y(mm) + 5 }, inMm(mm, step)));
  }
  trace.means_mm.forEach((mm, index) => {
    const newest = index === trace.means_mm.length - 1;
    drawing.append(svg("circle", { class: newest ? "dot newest" : "dot", cx: x(index), cy: y(mm), r: 2.5 }));
  });
  return drawing;
}

export function loopSays({ means_mm: means, each, drift_mm: drift }, resolution) {
  const dots = `${means.length} dots in order, each ${each === 1 ? "a touch" : `the mean of ${each} touches`}, in mm from its point's first`;
  return drift === null ? `${dots}.` : `${dots}. Last quarter less first: ${inMm(drift, resolution)} mm.`;
}

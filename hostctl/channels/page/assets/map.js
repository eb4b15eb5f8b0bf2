// The bed as it was measured last: a plan from above, its front at the bottom. At each place the
// height about the mean, up positive, on a disc that is the larger the further off: filled above,
// hollow below.
import { inMm } from "./dots.js";
import { svg } from "./make.js";

const WIDE = 300;
const EDGE = 34;
const LEAST_R = 3;
const MOST_R = 15;

export function bedMap(geometry, bed) {
  const [x0, x1] = geometry.x_mm;
  const [y0, y1] = geometry.y_mm;
  const scale = WIDE / (x1 - x0);
  const high = (y1 - y0) * scale;
  const at = (x, y) => [EDGE + (x - x0) * scale, EDGE + high - (y - y0) * scale];
  const furthest = Math.max(...bed.heights.map((one) => Math.abs(one.height_mm)), 0.001);
  const drawing = svg("svg", {
    class: "bed map",
    viewBox: `0 0 ${WIDE + 2 * EDGE} ${high + 2 * EDGE}`,
    role: "img",
    "aria-label": inWords(bed),
  });
  drawing.append(
    svg("rect", { class: "plate", x: EDGE, y: EDGE, width: WIDE, height: high, rx: 5 }),
    svg("text", { class: "front", x: EDGE + WIDE / 2, y: high + EDGE + 22 }, "front"),
  );
  for (const one of bed.heights) drawing.append(...place(one, at(one.x_mm, one.y_mm), furthest));
  return drawing;
}

function place({ height_mm: height }, [x, y], furthest) {
  const r = LEAST_R + (MOST_R - LEAST_R) * (Math.abs(height) / furthest);
  return [
    svg("circle", { class: height < 0 ? "low" : "high", cx: x, cy: y, r }),
    svg("text", { class: "figure", x, y: y + r + 14 }, inMm(height, 0.001)),
  ];
}

export function bedSays({ round, tilt_mm: tilt, tilt_low_mm: low, tilt_high_mm: high }) {
  const mm = (value) => inMm(value, 0.001).replace("+", "");
  return `Round ${round}: the plane tilts by ${mm(tilt)} mm (95 %: ${mm(low)} to ${mm(high)}). Filled: above the mean; hollow: below.`;
}

const inWords = (bed) =>
  `Bed seen from above, heights about the mean, mm: ${bed.heights.map((one) => `${one.point} ${inMm(one.height_mm, 0.001)}`).join(", ")}`;

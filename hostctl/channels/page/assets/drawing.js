// The bed seen from above, its front at the bottom, with the present point marked; and the screw
// to be turned, with an arc arrow that goes the way and as far as the words say.
import { svg } from "./make.js";

const WIDE = 200;
const EDGE = 26;
const TURN_R = 62;

export function bed(geometry, point, screw) {
  const [x0, x1] = geometry.x_mm;
  const [y0, y1] = geometry.y_mm;
  const scale = WIDE / (x1 - x0);
  const high = (y1 - y0) * scale;
  const at = (x, y) => [EDGE + (x - x0) * scale, EDGE + high - (y - y0) * scale];
  const label = point ? `Bed seen from above; ${point} is marked` : "Bed seen from above";
  const drawing = svg("svg", {
    class: "bed",
    viewBox: `0 0 ${WIDE + 2 * EDGE} ${high + 2 * EDGE}`,
    role: "img",
    "aria-label": label,
  });
  drawing.append(
    svg("rect", { class: "plate", x: EDGE, y: EDGE, width: WIDE, height: high, rx: 5 }),
    ...centreLines(high),
    svg("text", { class: "front", x: EDGE + WIDE / 2, y: high + EDGE + 19 }, "front"),
  );
  const marked = geometry.points.find(([name]) => name === point);
  if (marked) drawing.append(...crosshair(...at(marked[1], marked[2]), high));
  for (const [name, x, y] of geometry.screws) drawing.append(screwHead(...at(x, y), name === screw));
  for (const [name, x, y] of geometry.points) drawing.append(pointMark(...at(x, y), name === point));
  return drawing;
}

function centreLines(high) {
  const middle = [EDGE + WIDE / 2, EDGE + high / 2];
  return [
    svg("path", { class: "centre", d: `M${middle[0]} ${EDGE - 8}V${EDGE + high + 8}` }),
    svg("path", { class: "centre", d: `M${EDGE - 8} ${middle[1]}H${EDGE + WIDE + 8}` }),
  ];
}

function crosshair(x, y, high) {
  return [
    svg("path", { class: "hair", d: `M${x} ${EDGE}V${EDGE + high}M${EDGE} ${y}H${EDGE + WIDE}` }),
    svg("circle", { class: "halo", cx: x, cy: y, r: 21 }),
  ];
}

function screwHead(x, y, turned) {
  return svg(
    "g",
    { class: turned ? "screw turned" : "screw" },
    svg("circle", { cx: x, cy: y, r: 11 }),
  );
}

function pointMark(x, y, present) {
  if (present) return svg("circle", { class: "present", cx: x, cy: y, r: 9 });
  return svg("path", { class: "point", d: `M${x - 5} ${y}h10M${x} ${y - 5}v10` });
}

export function turning(turn) {
  const way = turn.clockwise ? "clockwise" : "anticlockwise";
  const drawing = svg("svg", {
    class: "turning",
    viewBox: "-100 -84 200 200",
    role: "img",
    "aria-label": `${turn.screw} screw seen from ${turn.from}: turn it ${turn.deg}° ${way}`,
  });
  const whole = Math.floor(turn.deg / 360);
  const rest = turn.deg - 360 * whole;
  const shown = (whole && rest < 20 ? 345 : Math.min(rest, 345)) * (turn.clockwise ? 1 : -1);
  drawing.append(
    svg("circle", { class: "head", r: 40 }),
    svg("path", { class: "slot-before", d: "M0 -40V40" }),
    svg("path", { class: "slot", d: "M0 -40V40", transform: `rotate(${shown})` }),
    svg("path", { class: "start", d: `M0 -${TURN_R - 12}V-${TURN_R + 12}` }),
    svg("path", { class: "arc", d: arc(shown) }),
    arrowTip(shown, turn.clockwise),
    svg("text", { class: "deg", y: 88 }, whole ? `${whole} × 360° + ${Math.round(rest)}°` : `${turn.deg}°`),
    svg("text", { class: "deg", y: 111 }, turn.from === "below" ? `${way}, from below` : way),
  );
  return drawing;
}

const onCircle = (deg, r) => {
  const angle = ((deg - 90) * Math.PI) / 180;
  return `${(r * Math.cos(angle)).toFixed(1)} ${(r * Math.sin(angle)).toFixed(1)}`;
};

function arc(deg) {
  const short = deg - Math.sign(deg) * 9; // the tip covers the rest
  const large = Math.abs(short) > 180 ? 1 : 0;
  return `M0 -${TURN_R}A${TURN_R} ${TURN_R} 0 ${large} ${deg > 0 ? 1 : 0} ${onCircle(short, TURN_R)}`;
}

function arrowTip(deg, clockwise) {
  const back = deg - (clockwise ? 18 : -18);
  const points = [onCircle(deg + (clockwise ? 3 : -3), TURN_R), onCircle(back, TURN_R + 14), onCircle(back, TURN_R - 14)];
  return svg("polygon", { class: "tip", points: points.map((p) => p.replace(" ", ",")).join(" ") });
}

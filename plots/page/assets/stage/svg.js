// The pen: SVG elements with presentation attributes and classes alone, since the
// page's policy turns style attributes black.
const NS = "http://www.w3.org/2000/svg";
export const TAU = 2 * Math.PI;

export function el(parent, name, attributes = {}) {
  const e = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) e.setAttribute(key, value);
  parent.appendChild(e);
  return e;
}

export function set(e, attributes) {
  for (const [key, value] of Object.entries(attributes)) {
    if (value === null) e.removeAttribute(key);
    else e.setAttribute(key, value);
  }
}

// text writes a line with a halo of paper, which parts it from lines behind it.
export function text(parent, x, y, words, { size = 14, anchor = "start", kind = "", halo = 4 } = {}) {
  const e = el(parent, "text", { x, y, "font-size": size, "text-anchor": anchor, class: kind });
  if (halo) set(e, { "paint-order": "stroke", stroke: "var(--paper)", "stroke-width": halo, "stroke-linejoin": "round" });
  e.textContent = words;
  return e;
}

// fresh empties a place for a picture and gives it an SVG of its size.
export function fresh(place) {
  const w = Math.max(place.clientWidth, 40);
  const h = Math.max(place.clientHeight, 40);
  place.querySelector("svg.p")?.remove();
  const svg = document.createElementNS(NS, "svg");
  set(svg, { class: "p", viewBox: `0 0 ${w} ${h}`, role: "group", "aria-label": place.dataset.alt });
  place.appendChild(svg);
  return [svg, w, h];
}

// Widths are measured in the page's own type, with room for fonts that are wider.
const ruler = document.createElement("canvas").getContext("2d");
const widths = new Map();
export function width(words, size, bold = false) {
  const key = (bold ? "b" : "r") + words;
  if (!widths.has(key)) {
    ruler.font = `${bold ? "bold " : ""}100px "Liberation Sans", Arial, Helvetica, sans-serif`;
    widths.set(key, ruler.measureText(words).width / 100);
  }
  return widths.get(key) * size * 1.04;
}

export const hue = (figure, body) => (body < 0 ? "var(--ink)" : `var(--b${figure.bodies[body].hue})`);

// unit is what speeds are counted in: the input's turns, or the output's where the
// vehicle is rolled; in a shift, which changes both, the fastest that the input turns.
export const unit = (frame) => (frame?.timed ? "shares of the input's greatest speed" : `turns per turn of the ${frame?.rolled ? "output" : "input"}`);

// speed writes turns per turn of the input: a sign, three places, a true minus.
export function speed(v) {
  if (v === null || v === undefined) return "free";
  const s = Math.abs(v) < 5e-4 && v !== 0 ? v.toPrecision(1) : Math.abs(v) >= 100 ? v.toFixed(1) : v.toFixed(3);
  return v === 0 ? "0" : (v > 0 ? "+" : "−") + s.replace("-", "");
}

// key tells what the tags of some bodies stand for, in lines of width w, the first at y. It
// returns how many lines there are.
export function key(parent, figure, bodies, x, y, w, size, most) {
  const list = [...bodies].sort((a, b) => a - b).map((b) => `${figure.bodies[b].tag}: ${figure.bodies[b].name}`);
  const lines = [];
  for (const t of list) {
    const longer = lines.length ? `${lines.at(-1)}, ${t}` : t;
    if (lines.length && width(longer, size) > w) lines.push(t);
    else lines[Math.max(lines.length - 1, 0)] = longer;
  }
  if (parent) lines.slice(0, most).forEach((t, i) => text(parent, x, y + i * (size + 4), t, { size, kind: "s" }).classList.add("key"));
  return lines.length;
}

// hatches gives every body its second sign: a pattern over a tint of its colour.
const strokes = ["", "M0 8L8 0", "M0 0L8 8", "", "M0 8L8 0M0 0L8 8", "M0 4H8", "M4 0V8", "", ""];
export function hatches(svg, figure, prefix) {
  const defs = el(svg, "defs");
  figure.bodies.forEach((b, i) => {
    const p = el(defs, "pattern", { id: `${prefix}${i}`, width: 8, height: 8, patternUnits: "userSpaceOnUse" });
    const c = hue(figure, i);
    el(p, "rect", { width: 8, height: 8, fill: "var(--paper)" });
    el(p, "rect", { width: 8, height: 8, fill: c, "fill-opacity": 0.24 });
    if (strokes[b.hatch]) el(p, "path", { d: strokes[b.hatch], stroke: c, "stroke-width": 1, "stroke-opacity": 0.4, fill: "none" });
    if (b.hatch === 3 || b.hatch === 8) el(p, "circle", { cx: 4, cy: 4, r: 1.1, fill: c, "fill-opacity": 0.5 });
    if (b.hatch === 7) el(p, "circle", { cx: 4, cy: 4, r: 2, fill: "none", stroke: c, "stroke-opacity": 0.45 });
  });
  return (body) => (body < 0 ? "var(--wash)" : `url(#${prefix}${body})`);
}

// arrowHead is a filled triangle with its tip at (x, y), pointing along an angle.
export function arrowHead(parent, x, y, angle, size, attributes) {
  const p = (r, a) => `${(x + r * Math.cos(a)).toFixed(1)} ${(y + r * Math.sin(a)).toFixed(1)}`;
  return el(parent, "path", { d: `M${x} ${y}L${p(size, angle + Math.PI - 0.5)}L${p(size, angle + Math.PI + 0.5)}Z`, ...attributes });
}

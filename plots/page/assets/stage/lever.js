// Lever and speeds are one picture: each bar on the left is a gearset, its nodes as
// far apart as its teeth say; on the right a motion is a straight line across the
// nodes, so that the speed of every body is read at its height.
import { el, set, text, fresh, hue, key, width, speed, unit } from "./svg.js";
import { apart, Room } from "./labels.js";

const DASH = ["", "11 6", "2.5 5", "14 4 3 4", "7 4", "18 5", "3 3", "9 3 3 3"];

// mark is the marker of the k-th way to move: disc, square, diamond, triangle, ring, cross.
function mark(parent, k, x, y, r, fill) {
  const d = [
    null,
    `M${x - r * 0.9} ${y - r * 0.9}h${1.8 * r}v${1.8 * r}h${-1.8 * r}Z`,
    `M${x} ${y - 1.25 * r}L${x + 1.25 * r} ${y}L${x} ${y + 1.25 * r}L${x - 1.25 * r} ${y}Z`,
    `M${x} ${y - 1.2 * r}L${x + 1.15 * r} ${y + 0.9 * r}L${x - 1.15 * r} ${y + 0.9 * r}Z`,
    null,
    `M${x - r} ${y - r}L${x + r} ${y + r}M${x + r} ${y - r}L${x - r} ${y + r}`,
  ][k % 6];
  if (k % 6 === 5) return el(parent, "path", { d, fill: "none", stroke: fill, "stroke-width": r * 0.7 });
  if (k % 6 === 4) return el(parent, "circle", { cx: x, cy: y, r: r * 0.8, fill: "var(--paper)", stroke: fill, "stroke-width": r * 0.5 });
  const stroke = { stroke: "var(--paper)", "stroke-width": 2 };
  return d ? el(parent, "path", { d, fill, ...stroke }) : el(parent, "circle", { cx: x, cy: y, r, fill, ...stroke });
}

// nice bounds of the scale: at least -1 .. 1 on the side that is used.
function bounds(values) {
  const lo = Math.min(-0.25, ...values), hi = Math.max(1, ...values);
  const wide = hi - lo;
  return [lo - wide * 0.1, hi + wide * 0.07];
}

function ticks(lo, hi) {
  const step = [0.5, 1, 2, 5, 10, 20, 50, 100].find((s) => (hi - lo) / s <= 4.5) || 200;
  const list = [];
  for (let v = Math.ceil(lo / step) * step; v <= hi + 1e-9; v += step) list.push(Math.round(v * 1e6) / 1e6);
  return list;
}

export class Lever {
  // page is the first panel shown where not all have room.
  constructor(place, figure, { size = 14, narrow = false, present = false, page = 0 } = {}) {
    const [svg, w, h] = fresh(place);
    Object.assign(this, { svg, w, h, figure, size, narrow, present });
    // Parts of a pair with fixed axles, and a lever of two nodes, say little: still they
    // are levers. The one with the output comes first.
    const order = figure.levers.map((l, i) => i).sort((a, b) => this.rank(a) - this.rank(b));
    const need = narrow ? 150 : present ? size * 11 : 210;
    const columns = Math.max(1, Math.min(order.length, w > h * 1.1 ? Math.floor(w / (present ? size * 24 : 300)) : 1, order.length > 2 ? 2 : 1));
    const least = (l) => Math.max(need * 0.75, (figure.levers[l].nodes.length + 2) * size * 1.9);
    const rows = Math.max(1, Math.min(Math.ceil(order.length / columns), Math.floor(h / Math.max(...order.map(least)))));
    const many = columns * rows;
    this.pages = Math.ceil(order.length / many);
    this.page = page % this.pages;
    const shown = order.slice((page % this.pages) * many, (page % this.pages) * many + many);
    const used = Math.min(rows, Math.ceil(shown.length / columns));
    this.panels = shown.map((l, i) => ({
      lever: figure.levers[l], x: ((i % columns) * w) / columns, y: (Math.floor(i / columns) * h) / used, w: w / columns, h: h / used,
    }));
    this.line = { from: null, to: null };
    this.ink = el(svg, "g");
  }

  rank(l) {
    const bodies = this.figure.levers[l].nodes.map((n) => n.body);
    return bodies.includes(this.figure.output) ? -1 : l;
  }

  // scene sets the scale: it holds for all frames of a state.
  scene(scene) {
    const values = [...scene.base.speeds];
    for (const l of scene.lines) values.push(...l.speeds);
    values.push(...(scene.healthy?.speeds || []), ...(scene.course?.speeds.flat() || []));
    this.usual = this.panels.map((p) => this.scale(p, values));
    // A frame that needs more has all frames on one wider scale.
    const all = [...values, ...scene.frames.flatMap((f) => [...f.speeds, ...(f.beside || [])])];
    this.wide = this.panels.map((p) => this.scale(p, all));
    this.now = scene;
  }

  scale(panel, values) {
    const here = new Set(panel.lever.nodes.map((n) => n.body));
    const n = this.figure.bodies.length;
    return bounds(values.filter((v, i) => v !== null && here.has(i % n)));
  }

  show(frame, before) {
    this.ink.replaceChildren();
    this.moving = [];
    this.tags = new Set();
    this.frame = frame;
    // The lines of rolling belong to the frames that are rolled alone.
    this.ways = this.now.rolling && !frame.rolled ? [] : this.now.lines;
    const beyond = this.panels.some((p, k) => {
      const [lo, hi] = this.scale(p, [...frame.speeds, ...(frame.beside || [])]);
      return lo < this.usual[k][0] - 1e-9 || hi > this.usual[k][1] + 1e-9;
    });
    this.before = before;
    this.panels.forEach((p, k) => this.panel(p, frame, (beyond ? this.wide : this.usual)[k]));
    const [p] = this.panels, small = Math.max(12, this.size - 1), x = this.head(p) + 16 + width(this.title(p), small);
    if (!this.narrow && !this.present) key(this.ink, this.figure, this.tags, x, p.y + 21, p.w - x - 8, small, 1);
  }

  title(p) {
    return this.figure.levers.length > 1 ? p.lever.title : "lever and speeds";
  }

  // head is where the title begins: after the button for the next lever.
  head(p) {
    return p.x + (this.pages > 1 && p === this.panels[0] ? 120 : 16);
  }

  panel(p, frame, [lo, hi]) {
    const { size, figure, narrow, present, ink } = this;
    const several = figure.levers.length > 1;
    const head = narrow ? 34 : several && !present ? 44 : present ? size * 2.9 : 58;
    const top = p.y + head, bottom = p.y + p.h - (narrow ? 26 : present ? size * 2.6 : 40);
    const nodes = p.lever.nodes;
    const at = nodes.map((n) => bottom - n.at * (bottom - top));
    const small = Math.max(12, size - 1);
    const subs = nodes.map((n) => (n.body < 0 ? "fixed" : this.sub(n.body, frame)));
    const names = nodes.map((n) => this.name(n.body));
    const nameW = Math.min(p.w * (narrow ? 0.27 : 0.31), Math.max(...names.map((t) => width(t, size, true)), ...subs.map((t) => width(t.words || "", small))) + 6);
    const port = narrow ? 32 : present ? Math.max(size * 2.2, 54) : 44;
    // An arrow to a node of an inner bar stands between two bars.
    const inner = nodes.some((n, i) => [figure.input, figure.output].includes(n.body) && !p.lever.bars[0].includes(i));
    const bar = inner ? (narrow ? 40 : present ? 66 : 50) : narrow ? 22 : present ? size * 1.6 : Math.min(38, Math.max(22, (p.w * 0.16) / p.lever.bars.length));
    const x0 = p.x + (narrow ? 6 : 14) + nameW + port;
    const lastBar = x0 + bar * (p.lever.bars.length - 1);
    const left = lastBar + (narrow ? 20 : 26), right = p.x + p.w - (narrow ? 20 : present ? size * 1.6 : 30);
    const X = (v) => left + ((v - lo) / (hi - lo)) * (right - left);
    const g = el(ink, "g");
    if (!narrow && !present) text(g, this.head(p), p.y + 21, this.title(p), { size: small, kind: "s" });

    // Scale and rows.
    for (const v of ticks(lo, hi)) {
      el(g, "line", { x1: X(v), x2: X(v), y1: top - 11, y2: bottom + 11, stroke: v ? "var(--line)" : "var(--ink)", "stroke-width": v ? 1.2 : 2.4 });
      text(g, X(v), top - 16, v > 0 ? `+${v}` : v < 0 ? `−${-v}` : "0", { size: small, anchor: "middle", kind: "s" });
    }
    const low = frame.ring && this.ways.length && nodes[0].body === this.now.ringed; // its numbers stand there
    if (!low) text(g, (left + right) / 2, bottom + (narrow ? 22 : present ? size * 2 : 32), this.below({ p, left, right }), { size: present ? small : Math.max(12, small - 0.5), anchor: "middle", kind: "s" });
    nodes.forEach((n, i) => el(g, "line", { x1: x0, x2: right, y1: at[i], y2: at[i], stroke: "var(--line)", "stroke-width": 1.2 }));

    // Bars and nodes.
    const r = present ? size * 0.42 : narrow ? 6.5 : 7.5;
    p.lever.bars.forEach((b, k) => {
      const ys = b.map((n) => at[n]);
      el(g, "line", { x1: x0 + k * bar, x2: x0 + k * bar, y1: Math.min(...ys), y2: Math.max(...ys), stroke: "var(--ink)", "stroke-width": present ? 6 : 5 });
    });
    nodes.forEach((n, i) => {
      const on = p.lever.bars.map((b, k) => (b.includes(i) ? x0 + k * bar : null)).filter((x) => x !== null);
      const body = el(g, "g", { class: "body", "data-body": n.body });
      if (on.length > 1) el(body, "line", { x1: on[0], x2: on.at(-1), y1: at[i], y2: at[i], stroke: hue(figure, n.body), "stroke-width": 5 });
      for (const x of on) el(body, "circle", { cx: x, cy: at[i], r, fill: "var(--paper)", stroke: hue(figure, n.body), "stroke-width": present ? 6 : 4.5 });
      this.port(g, n.body, x0, on, at[i], frame);
    });

    // Names, moved apart where nodes are close.
    const two = (bottom - top) / Math.max(nodes.length - 1, 1) > 2.3 * size;
    const places = apart(at, two ? 2.25 * size : 1.2 * size, p.y + (narrow ? 14 : 26), p.y + p.h - 10);
    nodes.forEach((n, i) => {
      const y = places[i], sub = two ? subs[i] : {};
      const words = fit(names[i], n.body < 0 ? "housing" : figure.bodies[n.body].tag, nameW, size);
      if (words !== names[i] && n.body >= 0) this.tags.add(n.body);
      text(g, x0 - port, y + (sub.words ? -1 : size * 0.36), words, { size, anchor: "end", kind: "k" });
      if (sub.words) text(g, x0 - port, y + size, fit(sub.words, "", nameW, small, false), { size: small, anchor: "end", kind: sub.bad ? "d" : "s" });
    });
    this.lines(g, { p, nodes, at, X, left, right, top, bottom, r }, frame);
  }

  name(body) {
    const { figure } = this;
    if (body < 0) return "housing";
    if (body === figure.output && (this.narrow || this.present)) return "output";
    return body === figure.input ? "input" : figure.bodies[body].name;
  }

  // sub says what drives or holds a body.
  sub(body, frame) {
    const { figure } = this;
    const names = (by) => figure.elements[by.at(-1)].name; // the nearest
    const bad = (by) => frame.elements[by.at(-1)].faulty;
    const output = body === figure.output && this.name(body) !== "output" ? { words: "the output" } : {};
    if (frame.hidden) return output;
    if (frame.stands && body === figure.output) return { words: this.narrow ? "assumed held" : "held: the assumption" };
    if ((frame.lacks || []).includes(body)) {
      if (frame.byHand) return { words: frame.speeds[body] === 0 ? "held by hand" : "joined by hand" };
      return { words: (frame.undriven || []).includes(body) ? "nothing drives it" : "nothing holds it", bad: true };
    }
    const held = (frame.held || []).find((t) => t.body === body);
    if (held && held.by.length) return { words: "by " + names(held.by), bad: bad(held.by) };
    if (body === figure.output) return output;
    const driven = (frame.inputs || []).find((t) => t.body === body);
    if (driven && driven.by.length) return { words: "by " + names(driven.by), bad: bad(driven.by) };
    return {};
  }

  // port draws what a node is tied to: an arrow in from the input, out to the wheels,
  // or the ground sign.
  port(g, body, x0, on, y, frame) {
    const { figure, present, narrow } = this;
    const q = present ? 13 : narrow ? 7 : 9, x = on[0] - (present ? 14 : narrow ? 9 : 11);
    const ink = { fill: "var(--ink)", stroke: "var(--ink)", "stroke-width": 1.6 };
    const driven = body === figure.input || (frame.inputs || []).some((t) => t.body === body);
    const held = body < 0 || (frame.held || []).some((t) => t.body === body) || (frame.stands && body === figure.output) || (frame.byHand && frame.lacks.includes(body) && frame.speeds[body] === 0);
    const lacks = (frame.lacks || []).includes(body) && !frame.byHand;
    const undriven = lacks && (frame.undriven || []).includes(body);
    if (held || lacks && !undriven) {
      const tall = present ? 17 : narrow ? 8 : 11;
      const a = x - (narrow ? 4 : q * 0.9), tone = lacks ? "var(--danger)" : "var(--ink)";
      let d = `M${x + 4} ${y}H${a}M${a} ${y - tall}V${y + tall}`;
      for (let k = -tall; k < tall - 1; k += present ? 7 : 5) d += `M${a} ${y + k}l${present ? "-8 8" : narrow ? "-4 4" : "-6 6"}`;
      el(g, "path", { d, fill: "none", stroke: tone, "stroke-width": present ? 2.6 : 1.8, "stroke-dasharray": lacks ? "3 3" : null }).classList.add("ground");
      if ((frame.catches || []).includes(body)) {
        const out = present ? 9 : narrow ? 3 : 5, far = a - (present ? 8 : narrow ? 4 : 6) - out;
        el(g, "rect", { x: far, y: y - tall - out, width: on[0] + (present ? 18 : 13) - far, height: 2 * (tall + out), rx: 4, fill: "none", stroke: "var(--ink)", "stroke-width": present ? 4 : 2.5, class: "catches" });
      }
      return;
    }
    if (undriven) el(g, "path", { d: `M${x - 2.3 * q} ${y}h${1.4 * q}m0 ${-q * 0.7}l${q} ${q * 0.7}l${-q} ${q * 0.7}z`, fill: "none", stroke: "var(--danger)", "stroke-width": 1.6, "stroke-dasharray": "3 3" });
    if (driven) el(g, "path", { d: `M${x - 2.3 * q} ${y}h${1.4 * q}m0 ${-q * 0.7}l${q} ${q * 0.7}l${-q} ${q * 0.7}z`, ...ink });
    if (body === figure.output) {
      const a = driven ? x0 - 2.8 * q : x;
      el(g, "path", { d: `M${a - 0.2 * q} ${y}h${-1.1 * q}m0 ${-q * 0.7}l${-q} ${q * 0.7}l${q} ${q * 0.7}z`, ...ink });
    }
  }

  lines(g, v, frame) {
    const { size, figure, narrow, present, now } = this;
    const { nodes, at, X, p } = v;
    const value = (speeds, n) => (n.body < 0 ? 0 : speeds[n.body]);
    const room = new Room(this.w, this.h);
    // Nothing stands between the numbers of the scale, of which it would seem to be one.
    room.signs.push({ x: p.x, y: p.y, w: p.w, h: v.top - 16 - p.y });
    room.signs.push(this.foot(v));
    room.lines.push([X(0), v.top - 11, X(0), v.bottom + 11]);
    room.signs.push({ x: 0, y: p.y - 99, w: this.w, h: 100 }, { x: 0, y: p.y + p.h - 1, w: this.w, h: 100 });
    room.signs.push({ x: p.x, y: p.y, w: v.left - 12 - p.x, h: p.h });
    const conflict = this.ways.length > 0;
    const thin = present ? 4.5 : 3;
    const dots = (layer, speeds, k) => nodes.forEach((n, i) => {
      const s = value(speeds, n);
      if (s === null) return;
      const r = present ? size * 0.42 : narrow ? 6.5 : 7.5;
      mark(layer, k, X(s), at[i], r, hue(figure, n.body)).classList.add("body");
      layer.lastChild.dataset.body = n.body;
      room.signs.push({ x: X(s) - r - 2, y: at[i] - r - 2, w: 2 * r + 4, h: 2 * r + 4 });
    });
    const points = (speeds) => nodes.map((n, i) => [value(speeds, n), at[i]]).filter(([s]) => s !== null);
    const stroke = (layer, pts, attributes) => el(layer, "polyline", { points: pts.map(([s, y]) => `${X(s).toFixed(1)},${y.toFixed(1)}`).join(" "), fill: "none", stroke: "var(--ink)", "stroke-width": thin, ...attributes });

    const across = (pts) => pts.slice(1).forEach(([s, y], i) => room.lines.push([X(pts[i][0]), pts[i][1], X(s), y]));

    // A thin ghost is what the line is told beside: that of the healthy range beside the state
    // as it is. A range that has the same line lies behind it.
    const asIs = frame === now.base || frame === now.frames[now.rest];
    const beside = frame.beside?.length ? [frame.beside, frame.besides] : asIs && !conflict && now.healthy ? [now.healthy.speeds, "healthy"] : [null, ""];
    const ghost = frame.line < 0 && !frame.hidden && (this.before || beside[0]);
    if (ghost && points(ghost).length > 1) stroke(g, points(ghost), { "stroke-width": 1.6, stroke: "var(--soft)", "stroke-dasharray": "2 4" }).classList.add("ghost");
    if (frame.same && !frame.hidden) stroke(g, points(frame.speeds), { "stroke-width": present ? 22 : 14, stroke: "var(--line)", "stroke-linecap": "round", "stroke-linejoin": "round" }).classList.add("same");

    if (conflict && !frame.hidden) {
      this.ways.forEach((l, k) => {
        const dim = frame.line >= 0 && frame.line !== k;
        const layer = el(g, "g", { opacity: dim ? 0.22 : 1 });
        stroke(layer, points(l.speeds), { "stroke-dasharray": DASH[k % DASH.length] || null, "stroke-linecap": k === 2 ? "round" : "butt" });
        dots(layer, l.speeds, k);
      });
      for (const l of this.ways) across(points(l.speeds));
      const ring = nodes.findIndex((n) => n.body === now.ringed);
      if (frame.ring && now.ringed >= 0 && ring >= 0) this.ring(g, room, v, ring);
      this.ways.forEach((l, k) => (frame.line < 0 || frame.line === k) && this.letter(g, room, v, l, k));
      if (frame.line >= 0) nodes.forEach((n, i) => this.number(g, room, v, value(this.ways[frame.line].speeds, n), i));
      return;
    }
    if (frame.hidden) return;
    const pts = points(frame.speeds);
    if (pts.length > 1 && pts.length === nodes.length) {
      const line = stroke(g, pts, {});
      this.moving.push({ line, pts, X });
    } else if (pts.length > 1) {
      stroke(g, pts, { "stroke-dasharray": "5 5", "stroke-width": 2 });
    }
    across(pts);
    const layer = el(g, "g");
    dots(layer, frame.speeds, 0);
    nodes.forEach((n, i) => {
      const s = value(frame.speeds, n);
      if (s !== null) this.number(g, room, v, s, i);
      else this.free(g, room, Math.max(X(0) + 8, v.left), at[i], frame.free[n.body] || "free");
    });
    if (frame.same) this.named(g, room, pts.map(([s, y]) => [X(s), y]), `as ${frame.same}`, "k");
    if (ghost && !this.before) this.named(g, room, points(ghost).map(([s, y]) => [X(s), y]), beside[1], "s");
  }

  // below are the words below the scale, the unit, if they have room.
  below({ p, left, right }) {
    const most = Math.min(right - left + 90, 2 * (p.x + p.w - 6 - (left + right) / 2));
    return width(unit(this.frame), Math.max(12, this.size - 1)) < most ? unit(this.frame) : this.frame.timed ? "" : "turns";
  }

  // foot is where the words below the scale stand.
  foot(v) {
    const w = width(this.below(v), this.size) + 24;
    return { x: (v.left + v.right - w) / 2, y: v.bottom + 14, w, h: 2 * this.size };
  }

  // number writes a speed near its marker.
  number(g, room, { at, X }, s, i) {
    if (s === null) return;
    const size = this.present ? this.size * 0.97 : Math.max(12, this.size - 0.5);
    const words = speed(s), w = width(words, size), x = X(s), y = at[i], h = size + 2, r = this.present ? this.size * 0.5 : 9;
    const boxes = [
      { x: x + r + 5, y: y + 4, w, h, price: 0 }, { x: x - w / 2, y: y + r + 4, w, h, price: 1 }, { x: x - w - r - 5, y: y + 4, w, h, price: 2 },
      { x: x + r + 5, y: y - h - 3, w, h, price: 2 }, { x: x - w - r - 5, y: y - h - 3, w, h, price: 2 }, { x: x - w / 2, y: y - h - r - 3, w, h, price: 3 },
      { x: x + r + 6, y: y - h / 2, w, h, price: 2 }, { x: x - w - r - 6, y: y - h / 2, w, h, price: 3 },
      { x: x + r + 3, y: y - h * 0.8, w, h, price: 4 }, { x: x - w - r - 3, y: y - h * 0.8, w, h, price: 4 },
      { x: x + 2 * r + 6, y: y + 4, w, h, price: 5 }, { x: x - w - 2 * r - 6, y: y + 4, w, h, price: 6 },
    ];
    const k = room.put(boxes, false);
    if (k >= 0) text(g, boxes[k].x, boxes[k].y + size - 1, words, { size });
  }

  // named names a line, near an end of it or between two points.
  named(g, room, points, words, kind) {
    const size = Math.max(12, this.size - 1), w = width(words, size, kind === "k"), h = size + 1;
    const between = points.slice(1).map(([x, y], i) => [(x + points[i][0]) / 2, (y + points[i][1]) / 2]);
    const boxes = [...[...points].reverse(), ...between.reverse()].flatMap(([x, y], k) => [8, 20].flatMap((far) => [[far, 3], [far, -h - 3], [-w - far, 3], [-w - far, -h - 3]].map(([dx, dy]) => ({ x: x + dx, y: y + dy, w, h, price: k + (far - 8) / 6 }))));
    const k = room.put(boxes, false);
    if (k >= 0) text(g, boxes[k].x, boxes[k].y + size - 1, words, { size, kind });
  }

  // free says that a speed is not settled, at the zero line.
  free(g, room, x, y, words) {
    const size = Math.max(12, this.size - 1), w = width(words, size), h = size + 1;
    const boxes = [0, w + 8, 2 * w + 16].flatMap((dx) => [{ x: x + dx, y: y - h - 3, w, h, price: dx / 40 }, { x: x + dx, y: y + 3, w, h, price: 1 + dx / 40 }]);
    const k = room.put(boxes, false);
    if (k >= 0) text(g, boxes[k].x, boxes[k].y + size - 1, words, { size, kind: "s" });
  }

  // ring surrounds the markers of the body that is asked for several speeds, and writes
  // these in a row, in the order of the markers.
  ring(g, room, { p, at, X, left }, i) {
    const { now, size, present, narrow } = this;
    // Ways that agree have one number.
    const speeds = [...new Set(this.ways.map((l) => l.speeds[now.ringed]).filter((v) => v !== null))].sort((a, b) => a - b), xs = speeds.map(X);
    const half = present ? size * 0.9 : narrow ? 12 : 15, x1 = Math.min(...xs) - half, x2 = Math.max(...xs) + half;
    el(g, "rect", { x: x1, y: at[i] - half, width: x2 - x1, height: 2 * half, rx: half, fill: "none", stroke: "var(--danger)", "stroke-width": present ? 4 : 2.5, class: "ringed" });
    const small = present ? size * 0.97 : Math.max(12, size - 0.5), words = speeds.map(speed), wide = Math.max(...words.map((t) => width(t, small)));
    const middles = apart(xs, wide + 6, left + wide / 2, p.x + p.w - 6 - wide / 2);
    const row = (y) => middles.map((x) => ({ x: x - wide / 2, y, w: wide, h: small, over: true }));
    const price = (boxes) => boxes.reduce((sum, b) => sum + room.price(b), 0);
    // Below the ring, or above it where markers stand below.
    const below = row(at[i] + half + 4), above = row(at[i] - half - small - 3);
    const numbers = price(above) < price(below) ? above : below;
    numbers.forEach((b, k) => {
      room.take(b);
      text(g, middles[k], b.y + small - 1, words[k], { size: small, anchor: "middle" });
    });
    const full = now.ring.replace(", ", ", asked for ");
    const most = p.x + p.w - left - 12;
    // Above the ring, or below its numbers where the scale or markers stand above.
    const boxes = [narrow || present ? now.ring : full, now.ring, now.ring.replace(/.*, /, "")].flatMap((words, k) => {
      const w = width(words, size, true), low = left - 8, high = p.x + p.w - w - 8;
      if (w >= most && k < 2) return [];
      return [(x1 + x2 - w) / 2, x1, x2 - w].flatMap((want, j) => {
        const x = Math.max(low, Math.min(want, high));
        const price = 4 * k + 3 * j;
        return [{ x, y: at[i] - half - size - 8, w, h: size + 4, words, price }, { x, y: at[i] + half + size + 6, w, h: size + 4, words, price: price + 20 }];
      }).concat([x2 + 8, x1 - w - 8].filter((x) => x > left - 8 && x + w < p.x + p.w).map((x) => ({ x, y: at[i] - size / 2 - 2, w, h: size + 4, words, price: 4 * k + 25, over: true })));
    });
    const b = boxes[room.put(boxes)]; // the verdict says it, too
    if (b) text(g, b.x, b.y + size, b.words, { size, kind: "d" });
  }

  // letter writes the letter of a way to move at an end of its line.
  letter(g, room, { nodes, at, X }, l, k) {
    const size = this.size * 1.15, w = width(l.letter, size, true), h = size + 2;
    const boxes = [];
    for (const i of [...nodes.keys()].reverse().concat([0])) {
      const s = nodes[i].body < 0 ? 0 : l.speeds[nodes[i].body];
      if (s === null) continue;
      const x = X(s);
      // Where no other line is near.
      const near = this.ways.filter((o) => o !== l && nodes[i].body >= 0 && o.speeds[nodes[i].body] !== null).map((o) => Math.abs(X(o.speeds[nodes[i].body]) - x));
      const crowd = near.reduce((sum, d) => sum + Math.max(0, 70 - d) / 3, nodes[i].body === this.now.ringed ? 40 : 0);
      const far = nodes[i].body === this.now.ringed && this.frame.ring ? (this.present ? this.size * 0.9 : 15) + 8 : 13;
      boxes.push({ x: x - w - far, y: at[i] - h / 2, w, h, over: true, price: crowd + boxes.length * 0.1 }, { x: x + far, y: at[i] - h / 2, w, h, over: true, price: crowd + 1 + boxes.length * 0.1 });
      for (const dx of [-2 * w - far - 8, w + far + 8]) boxes.push({ x: x + dx, y: at[i] - h / 2, w, h, over: true, price: crowd + 6 });
      for (const dy of [-h - 12, h + 12]) boxes.push({ x: x - w - 8, y: at[i] - h / 2 + dy, w, h, over: true, price: crowd + 4 }, { x: x + 8, y: at[i] - h / 2 + dy, w, h, over: true, price: crowd + 5 });
    }
    // Or on the line itself, where the others are far.
    const value = (o, n) => (n.body < 0 ? 0 : o.speeds[n.body]);
    nodes.slice(1).forEach((n, i) => {
      const along = (o, t) => X(value(o, nodes[i]) * (1 - t) + value(o, n) * t);
      const here = (o) => value(o, nodes[i]) !== null && value(o, n) !== null;
      if (here(l)) for (const t of [0.3, 0.5, 0.7]) {
        const crowd = this.ways.filter((o) => o !== l && here(o)).reduce((sum, o) => sum + Math.max(0, 45 - Math.abs(along(o, t) - along(l, t))) / 2, 0);
        boxes.push({ x: along(l, t) - w / 2, y: at[i] * (1 - t) + at[i + 1] * t - h / 2, w, h, over: true, price: 4 + crowd });
      }
    });
    const i = room.put(boxes, true);
    if (i >= 0) text(g, boxes[i].x, boxes[i].y + size - 1, l.letter, { size, kind: "k" });
  }

  // swing moves the line from what it was to what it is; part goes from 0 to 1.
  swing(from, part) {
    for (const m of this.moving) {
      const old = from.get(m.pts.map((p) => p[1].toFixed(0)).join());
      if (!old) continue;
      set(m.line, { points: m.pts.map(([s, y], i) => `${m.X(old[i] + (s - old[i]) * part).toFixed(1)},${y.toFixed(1)}`).join(" ") });
    }
  }

  // lying is where the lines lie, for the next swing.
  lying() {
    return new Map((this.moving || []).map((m) => [m.pts.map((p) => p[1].toFixed(0)).join(), m.pts.map((p) => p[0])]));
  }
}

// fit returns words if they fit, else something shorter.
function fit(words, short, most, size, bold = true) {
  if (width(words, size, bold) <= most + 8) return words;
  if (short) return short;
  let t = words;
  while (t.length > 4 && width(t + "…", size, bold) > most) t = t.slice(0, -1);
  return t + "…";
}

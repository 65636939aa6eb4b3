// The gearsets end-on, seen from the input: ring, pinions, sun, then the carrier as
// a band through all pinion axes in front of them, pins on it. A hand on ring and
// sun shows the turning from the last row; arrows tell speed by their length.
import { el, set, text, fresh, hue, hatches, key, width, speed, TAU } from "./svg.js";

// gearPath is the outline of a gear with z teeth on the pitch circle r about the
// origin, its first tooth along x; inner teeth point to the middle.
function gearPath(z, r, tall, inner = false) {
  if (!z) return `M${r} 0A${r} ${r} 0 1 1 ${-r} 0A${r} ${r} 0 1 1 ${r} 0Z`;
  const pitch = TAU / z;
  const [tip, root] = inner ? [r - tall * 0.9, r + tall * 1.1] : [r + tall * 0.9, r - tall * 1.1];
  const corners = [[tip, -0.12], [tip, 0.12], [root, 0.26], [root, 0.74]];
  let d = "";
  for (let i = 0; i < z; i++) {
    for (const [rr, part] of corners) {
      const a = (i + part) * pitch;
      d += `${d ? "L" : "M"}${(rr * Math.cos(a)).toFixed(2)} ${(rr * Math.sin(a)).toFixed(2)}`;
    }
  }
  return d + "Z";
}

// A picture of one gearset about (0, 0), of radius R.
class Picture {
  constructor(parent, figure, set, R, fill) {
    this.g = el(parent, "g");
    Object.assign(this, { figure, spec: set, R, fill, movers: [], hands: [], discs: [] });
    if (set.kind === "planetary") this.planetary();
    else if (set.kind === "pair") this.pair();
    else if (set.kind === "crossed") this.crossed();
    else this.bevel();
    this.arrows = el(this.g, "g", { class: "arrows" });
  }

  // mover notes what turns: node, the transform before its turning, and from whose
  // speed its own follows.
  mover(node, at, phase, of) {
    this.movers.push({ node, at, phase, of, speed: 0 });
    return node;
  }

  // tall is the height of a tooth above the pitch circle: the module.
  tall(r, z) {
    return z ? (2 * r) / z : 0;
  }

  wheel(w, inner, at = "") {
    const { figure, R } = this;
    const r = w.r * R;
    const z = this.spec.plain ? 0 : w.z;
    const g = el(this.g, "g", { class: "body", "data-body": w.body });
    const turning = this.mover(el(g, "g"), at, w.phase, { body: w.body });
    const c = hue(figure, w.body);
    const rim = r + 0.14 * R;
    let d = gearPath(z, r, this.tall(r, z), inner);
    if (inner) d += `M${rim} 0A${rim} ${rim} 0 1 0 ${-rim} 0A${rim} ${rim} 0 1 0 ${rim} 0Z`;
    const shape = el(turning, "path", { d, fill: this.fill(w.body), "fill-rule": "evenodd", stroke: c, "stroke-width": 1.4, "stroke-linejoin": "round" });
    // Beyond a quarter pitch a frame a plain disc stands for the teeth.
    let plain = gearPath(0, r, 0, inner);
    if (inner) plain += `M${rim} 0A${rim} ${rim} 0 1 0 ${-rim} 0A${rim} ${rim} 0 1 0 ${rim} 0Z`;
    const [h1, h2] = inner ? [r + this.tall(r, z) * 1.4 + 1, rim - 3] : [r * 0.45, r * 0.84];
    // The hand points up at the start, whatever the first tooth does.
    const up = (-90 - (w.phase * 360) / TAU).toFixed(2);
    const hand = el(turning, "line", { x1: h1, x2: h2, y1: 0, y2: 0, transform: `rotate(${up})`, stroke: c, "stroke-width": Math.max(3, R * 0.03), "stroke-linecap": "round" });
    this.discs.push({ shape, teeth: d, plain, z, of: { body: w.body }, body: w.body });
    this.hands.push({ hand, body: w.body });
    return shape;
  }

  planetary() {
    const { spec, R, figure } = this;
    // The picture is turned so that the first pinion stands on top.
    const turned = (w) => ({ ...w, phase: w.phase - TAU / 4 });
    for (const w of spec.rings) this.wheel(turned(w), true);
    const carrier = hue(figure, spec.carrier);
    const axes = [];
    for (let k = 0; k < spec.count; k++) {
      for (const p of spec.pinions) {
        const turn = p.angle + (TAU * k) / spec.count - TAU / 4;
        axes.push({ turn: ((turn % TAU) + TAU) % TAU, r: p.orbit * R, size: Math.min(...p.steps.map((s) => s.r)) * R });
        const out = el(this.g, "g", { class: "body", "data-body": spec.carrier });
        const orbit = this.mover(el(out, "g"), "", 0, { body: spec.carrier });
        for (const s of [...p.steps].sort((a, b) => b.r - a.r)) {
          const x = p.orbit * R * Math.cos(turn), y = p.orbit * R * Math.sin(turn);
          const spin = this.mover(el(orbit, "g"), `translate(${x.toFixed(2)} ${y.toFixed(2)})`, s.phases[k] - TAU / 4, { pinion: p.pinion, carrier: spec.carrier });
          const z = spec.plain ? 0 : s.z;
          const d = gearPath(z, s.r * R, this.tall(s.r * R, z));
          el(spin, "path", { d, fill: "var(--paper)" });
          const shape = el(spin, "path", { d, fill: carrier, "fill-opacity": 0.13, stroke: carrier, "stroke-width": 1.2, "stroke-linejoin": "round" });
          this.discs.push({ shape, teeth: d, plain: gearPath(0, s.r * R, 0), z, of: { pinion: p.pinion, carrier: spec.carrier }, body: spec.carrier });
        }
      }
    }
    for (const w of spec.suns) this.wheel(turned(w), false);
    this.band(axes, carrier);
  }

  // band is the carrier: a ring through the axes that stand furthest out, with a bar
  // to each axis that stands nearer.
  band(axes, c) {
    const { R, spec } = this;
    const g = el(this.g, "g", { class: "body", "data-body": spec.carrier });
    const turning = this.mover(el(g, "g"), "", 0, { body: spec.carrier });
    const size = Math.min(...axes.map((a) => a.size));
    const wide = Math.max(3.5, Math.min(size * 0.42, R * 0.075));
    const r = Math.max(...axes.map((a) => a.r));
    const at = (a) => [a.r * Math.cos(a.turn), a.r * Math.sin(a.turn)].map((v) => v.toFixed(2));
    const outer = axes.filter((a) => r - a.r < 0.5);
    let bars = "";
    for (const a of axes.filter((a) => !outer.includes(a))) {
      const apart = (o) => Math.hypot(a.r * Math.cos(a.turn) - o.r * Math.cos(o.turn), a.r * Math.sin(a.turn) - o.r * Math.sin(o.turn));
      const near = outer.reduce((x, y) => (apart(y) < apart(x) ? y : x));
      bars += `M${at(a).join(" ")}L${at(near).join(" ")}`;
    }
    const draw = (attributes) => {
      if (bars) el(turning, "path", { d: bars, fill: "none", ...attributes });
      return el(turning, "circle", { r, fill: "none", ...attributes });
    };
    draw({ stroke: "var(--paper)", "stroke-width": wide + 3 });
    this.arm = draw({ stroke: c, "stroke-width": wide });
    for (const a of axes) {
      const [cx, cy] = at(a);
      const pin = Math.max(3.5, Math.min(a.size * 0.46, R * 0.08));
      el(turning, "circle", { cx, cy, r: pin, fill: c, stroke: "var(--paper)", "stroke-width": 1.5 });
      el(turning, "circle", { cx, cy, r: pin * 0.42, fill: "var(--paper)" });
    }
    this.orbit = r;
  }

  pair() {
    const { spec, R } = this;
    const all = [...spec.rings.map((w) => [w, true]), ...spec.suns.map((w) => [w, false])];
    if (spec.chain) {
      const [a, b] = spec.suns;
      const far = (b.x - a.x) * R, slant = Math.asin(((a.r - b.r) * R) / far);
      for (const side of [-1, 1]) {
        const p = (w) => [w.x * R + w.r * R * Math.cos(side * (TAU / 4 - slant)), w.r * R * Math.sin(side * (TAU / 4 - slant))];
        const [x1, y1] = p(a), [x2, y2] = p(b);
        el(this.g, "line", { x1, y1, x2, y2, stroke: "var(--soft)", "stroke-width": 4, "stroke-dasharray": "6 3" });
      }
    }
    for (const [w, inner] of all) this.wheel(w, inner, `translate(${(w.x * R).toFixed(2)} 0)`);
  }

  // crossed is a pair of bevels: the wheel end-on, the other from its side.
  crossed() {
    const [w, cone] = this.spec.suns;
    this.wheel(w, false, `translate(${(w.x * this.R).toFixed(2)} 0)`);
    this.cone(w, cone);
  }

  // cone is a bevel from its side, its tip in the middle of the wheel, with its shaft.
  cone(wheel, w) {
    const { R, figure } = this;
    const c = hue(figure, w.body), tip = wheel.x * R, far = wheel.r * R, r = w.r * R, less = 1 - w.edge / wheel.r;
    const g = el(this.g, "g", { class: "body", "data-body": w.body });
    const out = tip - far - 0.13 * R, half = r * 0.32;
    el(g, "rect", { x: out, y: -half, width: 0.13 * R, height: 2 * half, fill: "var(--paper)", stroke: c, "stroke-width": 1.4 });
    const d = `M${tip - far} ${-r}L${tip - far * less} ${-r * less}V${r * less}L${tip - far} ${r}Z`;
    el(g, "path", { d, fill: "var(--paper)" });
    el(g, "path", { d, fill: this.fill(w.body), stroke: c, "stroke-width": 1.6, "stroke-linejoin": "round" });
    let teeth = "";
    for (const s of [-0.75, -0.45, -0.15, 0.15, 0.45, 0.75]) teeth += `M${tip - far} ${s * r}L${tip - far * less} ${s * r * less}`;
    el(g, "path", { d: teeth, fill: "none", stroke: c, "stroke-width": 1.2 });
    this.edge = { x: tip - far - 0.065 * R, wheel: wheel.body, body: w.body };
  }

  bevel() {
    const { spec, R, figure } = this;
    for (const w of spec.suns) this.wheel(w, false, `translate(${(w.x * R).toFixed(2)} 0)`);
    const g = el(this.g, "g", { class: "body", "data-body": spec.carrier });
    const turning = this.mover(el(g, "g"), `translate(${(spec.x * R).toFixed(2)} 0)`, 0, { body: spec.carrier });
    const c = hue(figure, spec.carrier), r = 0.3 * R;
    this.arm = el(turning, "line", { x1: -r * 0.6, x2: r * 0.6, y1: 0, y2: 0, stroke: c, "stroke-width": Math.max(4, R * 0.06), "stroke-linecap": "round" });
    for (const side of [-1, 1]) el(turning, "rect", { x: side * r * 0.6 - 6, y: -r * 0.22, width: 12, height: r * 0.44, fill: "var(--paper)", stroke: c, "stroke-width": 2 });
    this.orbit = r;
  }

  // speedOf is how fast something turns about its own middle.
  speedOf(of, frame) {
    if (of.body !== undefined) return of.body < 0 ? 0 : frame.speeds[of.body] || 0;
    const w = frame.pinions[of.pinion], carrier = of.carrier < 0 ? 0 : frame.speeds[of.carrier];
    return w === null || carrier === null ? 0 : w - carrier;
  }

  show(frame, quick) {
    const free = (b) => b >= 0 && frame.speeds[b] === null && !frame.hidden;
    for (const m of this.movers) m.speed = this.speedOf(m.of, frame);
    for (const d of this.discs) {
      d.fast = quick(this.speedOf(d.of, frame), d.z);
      const plain = d.fast || free(d.body);
      set(d.shape, { d: plain ? d.plain : d.teeth, "stroke-dasharray": free(d.body) ? "5 4" : null });
    }
    for (const h of this.hands) set(h.hand, { visibility: free(h.body) ? "hidden" : null });
    if (this.arm) set(this.arm, { "stroke-dasharray": free(this.spec.carrier) ? "8 6" : null });
    this.turns(frame);
  }

  // across draws the arrow of a bevel that is seen from its side and stands in front of the
  // wheel: where they mesh both go one way, so the side that is seen goes the other.
  across(frame) {
    const { x, wheel, body } = this.edge;
    const v = frame.speeds[body], w = wheel < 0 ? 0 : frame.speeds[wheel];
    if (!v || !w || frame.hidden) return;
    const way = Math.sign(w), long = way * Math.min(Math.max(18, Math.abs(v) * this.R * 0.3), this.R * 0.5);
    const d = `M${x} ${-long / 2}V${long / 2}`;
    for (const [c, wide] of [["var(--paper)", 7], ["var(--ink)", 2.6]]) el(this.arrows, "path", { d, fill: "none", stroke: c, "stroke-width": wide, "stroke-linecap": "round" });
    el(this.arrows, "path", { d: `M${x} ${long / 2 + 9 * way}l6 ${-9 * way}h-12Z`, fill: "var(--ink)", stroke: "var(--paper)", "stroke-width": 0.8 });
  }

  // turns draws the arrows: on the ring's rim, on the band, on the sun.
  turns(frame) {
    const { R, spec, arrows } = this;
    arrows.replaceChildren();
    const arc = (body, r, at, x = 0) => {
      const v = body < 0 ? 0 : frame.speeds[body];
      if (!v || Math.abs(v) < 1e-3 || r < 9 || frame.hidden) return;
      const sweep = Math.sign(v) * Math.min(Math.max(22 / r, Math.abs(v) * 0.62), 1.9);
      const end = at + sweep, head = Math.sign(v) * Math.max(0.1, 9 / r);
      const p = (a, q = r) => `${(x + q * Math.cos(a)).toFixed(1)} ${(q * Math.sin(a)).toFixed(1)}`;
      const d = `M${p(at)}A${r} ${r} 0 ${Math.abs(sweep) > Math.PI ? 1 : 0} ${v > 0 ? 1 : 0} ${p(end)}`;
      for (const [c, w] of [["var(--paper)", 7], ["var(--ink)", 2.6]]) el(arrows, "path", { d, fill: "none", stroke: c, "stroke-width": w, "stroke-linecap": "round" });
      el(arrows, "path", { d: `M${p(end + head)}L${p(end, r + 6)}L${p(end, r - 6)}Z`, fill: "var(--ink)", stroke: "var(--paper)", "stroke-width": 0.8 });
    };
    if (spec.kind === "planetary") {
      spec.rings.forEach((w, i) => arc(w.body, w.r * R + R * 0.09, -2.5 + i * 0.9));
      arc(spec.carrier, this.orbit, -0.5);
      spec.suns.forEach((w, i) => arc(w.body, w.r * R * 0.66, 2.2 - i * 1.6));
      return;
    }
    for (const w of spec.rings) arc(w.body, w.r * R + R * 0.09, -2.5, w.x * R);
    if (this.edge) this.across(frame);
    for (const w of spec.suns.filter((w) => !w.edge)) arc(w.body, w.r * R * 0.7, -2.2, w.x * R);
    if (spec.kind === "bevel") arc(spec.carrier, Math.max(16, R * 0.08), -2.4, spec.x * R);
  }
}

// parts lists what a set is made of: the word, the body, the teeth, and where its
// leader ends.
function parts(set) {
  const list = [];
  for (const w of set.rings) list.push({ word: w.part, body: w.body, z: set.plain ? 0 : w.z, wheel: w, ring: true });
  if (!["pair", "crossed"].includes(set.kind) || set.carrier >= 0) list.push({ word: "carrier", body: set.carrier, carrier: true });
  for (const w of set.suns) list.push({ word: w.part, body: w.body, z: set.plain ? 0 : w.z, wheel: w });
  return list;
}

const bodiesOf = (set) => parts(set).map((p) => p.body).filter((b) => b >= 0);

export class Gears {
  // bare leaves out what the parts are and do, where other pictures tell it.
  constructor(place, figure, { size = 14, present = false, narrow = false, bare = false } = {}) {
    const [svg, w, h] = fresh(place);
    Object.assign(this, { svg, w, h, figure, size, present, narrow, bare, sets: [] });
    const fill = hatches(svg, figure, "g");
    const n = figure.sets.length;
    this.sided = narrow && n > 3; // two rows, so that the sets are larger and their speeds have room
    this.foot = !present && !narrow ? Math.max(12, size - 1.5) : 0;
    const [columns, rows] = this.grid(n, w, h);
    const cellW = w / columns, small = Math.max(12, size - 1);
    const tagged = new Set(narrow && !bare ? figure.sets.filter((s) => this.sided || this.entries(s, cellW).tags).flatMap(bodiesOf) : []);
    const lines = key(null, figure, tagged, 0, 0, w - 16, small);
    const below = this.foot ? this.foot + 12 : lines * (small + 4);
    const cellH = (h - below) / rows;
    if (lines) key(svg, figure, tagged, 8, h - below + small - 2, w - 16, small);
    figure.sets.forEach((set, i) => this.cell(set, (i % columns) * cellW, Math.floor(i / columns) * cellH, cellW, cellH, i, columns, fill));
    if (this.foot) {
      const note = "seen from the input; clockwise is +." + (figure.assumed ? " " + figure.assumed : "") + (figure.sets.some((s) => s.kind === "crossed") ? " Of bevels the larger is seen so, the other from its side." : "");
      text(svg, 20, h - 8, note, { size: this.foot, kind: "s" });
    }
    this.words = el(svg, "g");
  }

  // grid chooses columns and rows so that the sets are as large as can be.
  grid(n, w, h) {
    if (n <= 1) return [1, 1];
    if (this.sided) return [2, Math.ceil(n / 2)];
    let best = [n, 1], most = 0;
    for (let c = 1; c <= n; c++) {
      const r = Math.ceil(n / c);
      const keyed = n > 2 || this.present || this.narrow;
      const cw = w / c - (this.bare ? 16 : keyed && !this.narrow ? 150 : this.narrow ? 10 : 190), ch = h / r - (this.narrow ? 44 : 40);
      const size = Math.min(cw, ch) + (n === 4 && c === 2 ? 6 : 0);
      if (size > most) [best, most] = [[c, r], size];
    }
    return best;
  }

  cell(set, x, y, w, h, i, columns, fill) {
    const { svg, size, figure, narrow } = this;
    const leaders = !this.present && !narrow && figure.sets.length <= 2 && w > 250 && set.kind !== "bevel";
    const name = (tx, ty, anchor) => text(svg, tx, ty, set.name, { size: size + (narrow ? 0 : 1), anchor, kind: "k" });
    const high = ["pair", "crossed"].includes(set.kind) ? Math.max(...[...set.rings, ...set.suns].map((q) => q.r)) + 0.1 : set.kind === "bevel" ? 0.42 : 1;
    let R, cx, cy, key;
    if (leaders) {
      const side = Math.min(w * 0.42, 12 + this.keyWidth(set));
      R = Math.min((w - side - 26) / 2, (h - 40) / 2 / Math.min(high, 1));
      // Sets lean to the middle, words stand outside.
      const left = columns === 1 || i % columns === 0;
      cx = left ? x + Math.max(side + R + 14, w - R - 12) : x + R + 12;
      if (columns === 1) cx = x + Math.min(w - R - 12, side + R + (w - side - 2 * R) / 2);
      cy = y + 30 + (h - 34) / 2;
      name(cx, y + 22, "middle");
      key = { kind: "leaders", side: left ? -1 : 1, x: cx + (left ? -R - 16 : R + 16) };
    } else if (!this.bare && (narrow ? this.sided : w > h * 1.12)) {
      const side = this.keyWidth(set) + (narrow ? 12 : 34);
      R = Math.min((w - side - (narrow ? 8 : 20)) / 2, (h - 16) / 2 / Math.min(high, 1));
      cx = x + Math.max(R + (narrow ? 4 : 12), (w - side) / 2);
      cy = y + h / 2;
      key = { kind: "side", x: cx + R + (narrow ? 7 : 16) };
      if (key.x + side > x + w) key.x = x + w - side + 10;
    } else {
      const rows = Math.max(...figure.sets.map((q) => parts(q).length));
      const under = this.bare ? 1.5 * size : narrow ? 2.5 * size : (rows + 1) * size * 1.4;
      R = Math.min((w - 16) / 2, (h - under - 10) / 2 / Math.min(high, 1));
      cx = x + w / 2;
      cy = y + 6 + (h - under - 8) / 2;
      key = { kind: narrow ? "row" : "below", x: x + 10, y: cy + R * Math.min(high, 1) + size * 1.15, w: w - 12 };
    }
    const picture = new Picture(svg, figure, set, Math.max(R, 12), fill);
    picture.g.setAttribute("transform", `translate(${cx.toFixed(1)} ${cy.toFixed(1)})`);
    this.sets.push({ picture, key, cx, cy, R: Math.max(R, 12), set, x, y, w, h });
  }

  keyWidth(set) {
    const { size } = this;
    if (this.present || this.figure.sets.length > 2) return Math.max(...parts(set).map((p) => width(`${this.partWord(p)} −0.000`, size))) + size * 1.15;
    return Math.max(...parts(set).map((p) => Math.max(width(`${p.word} ${p.z || ""}`, size, true), width(this.value(set, p, "−0.000"), size - 0.5)))) + 22;
  }

  // partWord is a part in a key, on a phone by the tag of its body.
  partWord(p) {
    if (this.narrow) return p.body < 0 ? "fixed" : this.figure.bodies[p.body].tag;
    return p.word + (p.z && !this.present ? ` ${p.z}` : "");
  }

  // value is the speed of a part, with the body's name where it is not the part's own.
  value(set, p, v) {
    const b = p.body < 0 ? { name: "housing" } : this.figure.bodies[p.body];
    const own = b.name === `${set.name}.${p.word}`;
    return own || this.present || this.figure.sets.length > 2 ? v : `${p.body === this.figure.input ? "input" : b.name} ${v}`;
  }

  show(frame, quick) {
    this.words.replaceChildren();
    for (const s of this.sets) {
      s.picture.show(frame, quick);
      this.label(s, frame);
    }
  }

  label(s, frame) {
    const { size, words, figure } = this;
    const { key, set, cx, cy } = s;
    const says = (p) => (frame.hidden ? "" : p.body < 0 ? "0" : frame.speeds[p.body] === null ? "free" : speed(frame.speeds[p.body]));
    const list = parts(set);
    if (key.kind === "row") {
      const sizes = Math.max(12, size - 1);
      text(words, cx, key.y, set.name, { size, anchor: "middle", kind: "k" });
      const { entries, wide } = this.entries(set, s.w);
      let x = cx - wide / 2;
      list.forEach((p, i) => {
        el(words, "rect", { x, y: key.y + size * 1.2 - sizes * 0.75, width: sizes * 0.75, height: sizes * 0.75, rx: 2, fill: hue(figure, p.body) });
        text(words, x + sizes, key.y + size * 1.2, entries[i], { size: sizes });
        x += width(entries[i], sizes) + sizes * 1.6;
      });
      return;
    }
    if (key.kind === "leaders") {
      this.leaders(s, list, says, frame);
      return;
    }
    let y = key.kind === "side" ? cy - ((list.length + 1) * size * 1.4) / 2 + size : key.y;
    text(words, key.x, y, set.name, { size: size + 1, kind: "k" });
    for (const p of this.bare ? [] : list) {
      y += size * 1.4;
      el(words, "rect", { x: key.x, y: y - size * 0.78, width: size * 0.8, height: size * 0.8, rx: 2, fill: hue(figure, p.body) });
      text(words, key.x + size * 1.15, y, `${this.partWord(p)} ${says(p)}`, { size });
    }
  }

  // entries are the parts of a set in a row of width w, by their tags where words do not fit.
  entries(set, w) {
    const size = Math.max(12, this.size - 1), list = parts(set);
    const total = (words) => words.reduce((sum, t) => sum + width(t, size) + size * 1.6, -size * 0.5);
    const words = list.map((p) => p.word);
    if (total(words) < w - 4) return { entries: words, wide: total(words) };
    const tags = list.map((p) => (p.body < 0 ? "fixed" : this.figure.bodies[p.body].tag));
    return { entries: tags, wide: total(tags), tags: true };
  }

  // leaders write each part beside the set, with a line to it.
  leaders(s, list, says, frame) {
    const { size, words, figure } = this;
    const { key, set, R, cx, cy } = s;
    const side = key.side, anchor = side < 0 ? "end" : "start";
    const n = list.length;
    list.forEach((p, i) => {
      const y = cy + (n === 1 ? 0 : (-0.72 + (1.46 * i) / (n - 1)) * R);
      const held = (frame.held || []).find((t) => t.body === p.body);
      let [px, py] = [cx, cy];
      if (p.carrier) {
        const a = side > 0 ? 0.12 : Math.PI - 0.12;
        [px, py] = [cx + s.picture.orbit * Math.cos(a), cy + s.picture.orbit * Math.sin(a)];
      } else if (p.ring) {
        const r = p.wheel.r * R + R * 0.09;
        [px, py] = [cx + p.wheel.x * R + side * r * 0.8, cy - r * 0.6 + i * 0.2 * r];
      } else {
        const r = p.wheel.edge ? 0 : p.wheel.r * R * (set.kind !== "planetary" ? 0.9 : 0.78);
        const a = Math.atan2(y - cy, side * R);
        [px, py] = [cx + p.wheel.x * R + r * Math.cos(a) * (set.kind !== "planetary" ? 0.6 : 1), cy + r * Math.sin(a)];
      }
      const c = hue(figure, p.body), lx = key.x;
      const knee = side < 0 ? Math.min(px - 14, cx - R - 2) : Math.max(px + 14, cx + R + 2);
      el(words, "polyline", { points: `${lx - side * 4},${y - 5} ${knee},${y - 5} ${px},${py}`, fill: "none", stroke: c, "stroke-width": 1.6 });
      el(words, "circle", { cx: px, cy: py, r: 3.5, fill: c, stroke: "var(--paper)", "stroke-width": 1.2 });
      const pinions = p.carrier && set.pinions ? `, ${set.count} × ${figure.pinions[set.pinions[0].pinion].teeth || "pinion"}` : "";
      text(words, lx, y, `${p.word}${p.z ? " " + p.z : ""}${set.pinions && set.pinions.length === 1 ? pinions : ""}`, { size, anchor, kind: "k" });
      text(words, lx, y + size + 3, this.value(set, p, says(p)), { size: size - 0.5, anchor, kind: "s" });
      const roomy = n === 1 || (1.46 * R) / (n - 1) > 3 * size + 8;
      const room = (side < 0 ? lx - s.x : s.x + s.w - lx) - 6;
      const hand = frame.byHand && frame.lacks.includes(p.body) && frame.speeds[p.body] === 0;
      const by = hand ? "held by hand" : held && held.by.length ? "held by " + figure.elements[held.by.at(-1)].name : "";
      if (by && !frame.hidden && roomy) text(words, lx, y + 2 * size + 5, width(by, size) < room ? by : "held", { size: size - 0.5, anchor, kind: "s" });
    });
  }

  movers() {
    return this.sets.flatMap((s) => s.picture.movers);
  }
  discs() {
    return this.sets.flatMap((s) => s.picture.discs);
  }
}

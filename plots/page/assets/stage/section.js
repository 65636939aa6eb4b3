// The half-section: one half of the train cut along its axis. Lines are bodies, in
// their colours; a dial on each turns as the body does, seen from the input. No
// texture runs along a line: a shaft turns, it does not flow.
import { el, set, text, fresh, hue, hatches, key, width, speed } from "./svg.js";
import { Room } from "./labels.js";

const DIAL = 9;
const DOT = 5; // where lines of a body join

export class Section {
  constructor(place, figure, { size = 14, narrow = false, present = false } = {}) {
    const [svg, w, h] = fresh(place);
    Object.assign(this, { svg, w, h, figure, size, plan: figure.section, small: present ? Math.max(size - 1, innerHeight * 0.0251) : Math.max(12, size - 1) });
    // The plan is in points; the picture stretches it both ways to its place.
    const left = 18, right = 24, top = narrow ? 44 : present ? size * 2.4 : 30, bottom = 14;
    const kx = (w - left - right) / this.plan.width;
    // More room under the housing, where the words of the brakes stand.
    const shelf = narrow ? 4 : 14, under = this.plan.housing + 20;
    const ky = (h - top - bottom - shelf) / (this.plan.height - this.plan.housing);
    this.X = (x) => left + x * kx;
    this.Y = (y) => top + (y - this.plan.housing) * ky + (y > under ? shelf : 0);
    this.fill = hatches(svg, figure, "s");
    this.hands = [];
    this.title = narrow || present ? "" : "half-section";
    if (this.title) text(svg, 20, 19, this.title, { size: this.small, kind: "s" });
    this.frame();
    this.bodies();
    this.sets();
    this.elements();
    this.labels = el(svg, "g");
  }

  frame() {
    const { svg, plan } = this;
    const [x1, x2, y] = [18, this.w - 18, this.Y(plan.housing)];
    let d = "";
    for (let x = x1 + 6; x < x2; x += 8) d += `M${x} ${y}l6 -6`;
    el(svg, "path", { d, stroke: "var(--soft)", "stroke-width": 1, fill: "none" });
    el(svg, "line", { x1, x2, y1: y, y2: y, stroke: "var(--ink)", "stroke-width": 2 });
    el(svg, "line", { x1, x2, y1: this.Y(plan.axis), y2: this.Y(plan.axis), stroke: "var(--soft)", "stroke-width": 1, "stroke-dasharray": "14 4 3 4" });
  }

  // ways are the lines of each body, and the dots where they join.
  ways() {
    const { plan, figure } = this;
    const lines = figure.bodies.map(() => []);
    const dots = figure.bodies.map(() => []);
    const ground = [];
    const add = (body, points, joins = false) => (body < 0 ? ground : lines[body]).push(Object.assign(points.map(([x, y]) => [this.X(x), this.Y(y)]), { joins }));
    const joint = (body, x) => {
      if (body < 0) return;
      const l = plan.levels[body];
      if (l.from < x && x < l.to) dots[body].push([this.X(x), this.Y(l.y)]);
    };
    plan.levels.forEach((l, b) => l.from < l.to && add(b, [[l.from, l.y], [l.to, l.y]]));
    for (const t of plan.taps) {
      add(t.body, t.points);
      joint(t.body, t.points.at(-1)[0]);
    }
    for (const s of plan.sets) for (const arm of s.arms || []) add(s.carrier, arm, true);
    for (const e of plan.elements) {
      const [x, y] = [this.X(e.x), this.Y(e.y)];
      const half = 9 * this.smaller(e);
      const reach = (body, ...points) => body >= 0 && lines[body].push(Object.assign(points, { element: e.element }));
      reach(e.a, [x, this.Y(e.low)], [x, y - half]);
      reach(e.b, [x, y + half], [x, this.Y(e.high)]);
      // A sign between lines that are close touches them: no dot stands out behind it.
      const clear = 12 * this.smaller(e) + DOT;
      if (y - this.Y(e.low) > clear) joint(e.a, e.x);
      if (this.Y(e.high) - y > clear) joint(e.b, e.x);
    }
    return { lines, dots, ground };
  }

  bodies() {
    const { svg, figure } = this;
    const { lines, dots, ground } = this.ways();
    // pieces are all straight lines: their ends, their body, and the element that they lead to.
    this.pieces = lines.flatMap((list, b) => list.flatMap((points) => points.slice(1).map((p, i) => [...points[i], ...p, b, points.element])));
    this.grounds = [];
    const path = (list) => list.map((points) => points.map(([x, y], i) => `${i ? "L" : "M"}${x.toFixed(1)} ${y.toFixed(1)}`).join("")).join("");
    for (const points of ground) {
      const [x, y] = points.at(-1);
      el(svg, "path", { d: path([points]), fill: "none", stroke: "var(--ink)", "stroke-width": 3 });
      if (points.joins) continue; // the housing's sign stands where it leaves the gearset
      const [px, py] = points.at(-2);
      const [dx, dy] = Math.abs(x - px) > Math.abs(y - py) ? [0, 8] : [8, 0];
      el(svg, "line", { x1: x - dx, x2: x + dx, y1: y - dy, y2: y + dy, stroke: "var(--ink)", "stroke-width": 2.5 });
      let d = "";
      const [ox, oy] = [Math.sign(x - px) || 0, Math.sign(y - py) || 0];
      for (let k = -1; k <= 1; k += 0.5) d += `M${x + k * dx} ${y + k * dy}l${oy ? -4 : 5 * ox} ${oy ? 5 * oy : 4}`;
      el(svg, "path", { d, fill: "none", stroke: "var(--ink)", "stroke-width": 1.2 });
      this.grounds.push({ x: x - 11, y: y - 9, w: 22, h: 18 });
    }
    this.wires = figure.bodies.map((b, i) => {
      const g = el(svg, "g", { class: "body", "data-body": i });
      // Paper below parts a line from those that it crosses.
      const d = path(lines[i]);
      el(g, "path", { d, fill: "none", stroke: "var(--paper)", "stroke-width": 11 });
      const wire = el(g, "path", { d, fill: "none", stroke: hue(figure, i), "stroke-width": 4.5, "stroke-linejoin": "round" });
      for (const [x, y] of dots[i]) el(g, "circle", { cx: x, cy: y, r: DOT, fill: hue(figure, i) });
      return wire;
    });
    const ports = this.plan.levels;
    const input = ports[figure.input], output = ports[figure.output];
    const arrow = (body, x, y) => {
      el(svg, "path", { d: `M${x} ${y - 7}l13 7l-13 7z`, fill: hue(figure, body) });
      this.arrows.push({ x, y: y - 5, w: 13, h: 10 });
    };
    this.arrows = [];
    if (figure.input >= 0 && input.to >= input.from) arrow(figure.input, this.X(input.from) - 6, this.Y(input.y));
    if (figure.output >= 0 && output.to >= output.from) arrow(figure.output, this.X(output.to) - 4, this.Y(output.y));
  }

  sets() {
    const { svg, figure, plan, size } = this;
    this.boxes = [];
    const small = this.small;
    const teeth = new Map();
    figure.sets.forEach((s, g) => {
      let pinion = 0;
      plan.sets[g].boxes.forEach((b) => {
        const x = this.X(b.x), y = this.Y(b.y), w = this.X(b.x + b.w) - x, h = this.Y(b.y + b.h) - y;
        // The edge of a bevel rises to the right: above 0 the upper, below 0 the lower one.
        const rise = (this.Y(b.y + Math.abs(b.slant)) - y) / 2, upper = b.slant > 0 ? rise : 0, lower = b.slant < 0 ? rise : 0;
        const box = el(svg, "path", {
          d: `M${x} ${y + upper}L${x + w} ${y - upper}V${y + h - lower}L${x} ${y + h + lower}Z`,
          fill: b.pinion ? "var(--paper)" : this.fill(b.body), stroke: hue(figure, b.body), "stroke-width": 2, class: "body", "data-body": b.body,
        });
        this.boxes.push({ x, y, w, h });
        const z = b.teeth;
        if (z && h > small && w > width(String(z), small)) text(svg, x + w / 2, y + h / 2 + small * 0.36, z, { size: small, anchor: "middle", halo: 0 });
        teeth.set(box, pinion++);
      });
    });
  }

  // elements draws the sign of each kind between the bodies that it joins: plates
  // for friction, teeth for a dog, a wedge for a one-way clutch, a tooth for the pawl.
  elements() {
    const { svg, figure, plan } = this;
    this.signs = [];
    for (const e of plan.elements) {
      const [x, y] = [this.X(e.x), this.Y(e.y)];
      const g = el(svg, "g", { class: "element", "data-element": e.element, transform: `translate(${x.toFixed(1)} ${y.toFixed(1)})` });
      if (e.a < 0) el(g, "line", { x1: 0, x2: 0, y1: this.Y(plan.housing) - y, y2: -7, stroke: "var(--soft)", "stroke-width": 2 });
      if (e.b < 0) el(g, "line", { x1: 0, x2: 0, y1: 7, y2: this.Y(e.high) - y, stroke: "var(--soft)", "stroke-width": 2 });
      const scaled = el(g, "g", { transform: `scale(${this.smaller(e).toFixed(2)})` });
      const back = el(scaled, "rect", { x: -17, y: -12, width: 34, height: 24, fill: "var(--paper)", stroke: "none", rx: 1 });
      const ink = el(scaled, "g", {});
      this.signs[e.element] = { g, back, ink, kind: figure.elements[e.element].kind, x, y };
    }
  }

  // smaller is how much smaller a sign is drawn between two lines that are close, so
  // that its ground of paper cuts neither, or beside a sign that is close.
  smaller(e) {
    const y = this.Y(e.y), room = Math.min(e.a < 0 ? Infinity : y - this.Y(e.low), e.b < 0 ? Infinity : this.Y(e.high) - y);
    let wide = Infinity;
    for (const o of this.plan.elements) {
      if (o !== e && Math.abs(this.Y(o.y) - y) < 24) wide = Math.min(wide, Math.abs(this.X(o.x) - this.X(e.x)));
    }
    return Math.min(1, Math.max(0.55, (room - 3) / 12), Math.max(0.45, (wide - 2) / 34));
  }

  sign(s, state) {
    const { ink, kind, back } = s;
    const c = state.aside ? "var(--soft)" : state.faulty ? "var(--danger)" : state.closed ? "var(--ink)" : "var(--edge)";
    ink.replaceChildren();
    set(back, {
      stroke: state.faulty || state.conflict ? "var(--danger)" : state.aside ? "var(--soft)" : state.catches ? "var(--ink)" : "none",
      "stroke-width": state.aside ? 1.5 : state.catches ? 3 : 2, "stroke-dasharray": state.aside ? "2 3" : state.conflict && !state.faulty ? "5 3" : null,
    });
    if (state.gone) return; // of what does not hold the frame alone is left
    const plate = (y, thick = 3) => el(ink, "rect", { x: -12, y: y - thick / 2, width: 24, height: thick, fill: c });
    const gap = state.closed ? 3 : 5;
    switch (kind) {
      case "one-way":
        plate(-8, 3);
        el(ink, "path", { d: "M-10 8L10 8L0 -6Z", fill: state.closed ? c : "none", stroke: c, "stroke-width": 2 });
        break;
      case "pawl":
        plate(-gap);
        plate(gap);
        el(ink, "path", { d: `M-5 ${-gap}L5 ${-gap}L0 ${gap}Z`, fill: c });
        break;
      case "dog":
        for (const x of [-8, 0, 8]) el(ink, "rect", { x: x - 2, y: -gap, width: 4, height: gap, fill: c });
        for (const x of [-4, 4]) el(ink, "rect", { x: x - 2, y: state.closed ? -gap : 0, width: 4, height: gap, fill: c });
        plate(-gap - 1);
        plate(gap + (state.closed ? 1 : 2));
        break;
      default:
        plate(-gap, kind === "band" ? 5 : state.closed ? 5 : 2.5);
        plate(gap, state.closed ? 5 : 2.5);
    }
  }

  // show puts a frame in place.
  show(frame) {
    const { figure } = this;
    figure.bodies.forEach((b, i) => {
      const free = frame.speeds[i] === null && frame.free[i] !== "";
      set(this.wires[i], { "stroke-width": (frame.loaded || []).includes(i) ? 7 : free ? 2.5 : 4.5, "stroke-dasharray": free ? "7 5" : null });
    });
    frame.elements.forEach((state, i) => this.signs[i] && this.sign(this.signs[i], state));
    this.write(frame);
  }

  // write places the words: first what is faulty or takes part, then the bodies,
  // then what takes no part, as far as there is room.
  write(frame) {
    const { size, figure, labels, plan } = this;
    labels.replaceChildren();
    this.hands = [];
    this.tags = new Set();
    const part = (s) => s.faulty || s.conflict || s.aside || s.word;
    const order = frame.elements.map((s, i) => i).filter((i) => this.signs[i]);
    const list = [
      ...order.filter((i) => part(frame.elements[i])).map((i) => this.element(i, frame.elements[i], true)),
      ...plan.levels.map((l, b) => l.to >= l.from && this.body(b, frame)).filter(Boolean),
      ...order.filter((i) => !part(frame.elements[i])).map((i) => this.element(i, frame.elements[i], false)),
      ...figure.sets.map((s, g) => plan.sets[g].boxes.length && this.setName(s, g)).filter(Boolean),
    ];
    const room = this.room();
    room.settle(list).forEach((spot, k) => spot && list[k].write(spot));
    const small = this.small;
    const x = this.title ? 20 + width(this.title, small) + 16 : 12;
    key(labels, figure, this.tags, x, this.title ? 19 : this.small + 2, this.w - x - 12, small, this.title ? 1 : 2);
  }

  // room is what the labels have, empty.
  room() {
    if (!this.space) {
      const signs = [...this.boxes, ...this.grounds, ...this.arrows, ...this.signs.filter(Boolean).map((s) => ({ x: s.x - 17, y: s.y - 12, w: 34, h: 24 }))];
      this.space = new Room(this.w, this.h, [...signs, { x: 0, y: 0, w: this.w, h: this.Y(this.plan.housing) + 1 }], this.pieces, 2);
      this.ranked = new Map();
    }
    this.space.taken = [];
    return this.space;
  }

  // spots are the ranked spots of a label, found once for each size of its words.
  spots(key, make, cost) {
    const room = this.room();
    if (!this.ranked.has(key)) this.ranked.set(key, room.rank(make(), cost, 300));
    return this.ranked.get(key);
  }

  // element is the label of an element: its name, and what it does.
  element(i, state, needed) {
    const s = this.signs[i];
    const { size, figure } = this;
    const { name, a, b } = figure.elements[i];
    const bad = state.faulty || state.conflict;
    const around = (word, more) => {
      const w = Math.max(width(name, size, needed), word ? width(word, this.small) : 0), h = word ? 2 * size + 4 : size + 4;
      const at = (x, y, anchor, price) => ({ x: anchor === "end" ? x - w : anchor === "middle" ? x - w / 2 : x, y: y - h / 2, w, h, tx: x, anchor, word, price: price + more });
      const boxes = [];
      for (const dy of [0, 8, -6, 16, -12, 24, -20]) {
        const price = Math.abs(dy) / 4;
        boxes.push(at(s.x + 22, s.y + dy, "start", price), at(s.x - 22, s.y + dy, "end", price + 1));
      }
      for (const dy of [h / 2 + 14, -h / 2 - 14, h / 2 + 22, -h / 2 - 22]) {
        const price = 2 + (Math.abs(dy) - h / 2) / 8;
        boxes.push(at(s.x, s.y + dy, "middle", price + 2), at(s.x + 9, s.y + dy, "start", price), at(s.x - 9, s.y + dy, "end", price + 1));
      }
      // Farther off a leader says whose words they are.
      for (const dx of [0, 12, 24, 40, 60, 90, 120, -12, -24, -40, -60, -90, -120]) for (const dy of [-88, -76, -64, -52, -40, -28, 0, 28, 40, 52, 64, 76, 88]) {
        if (Math.abs(dx) + Math.abs(dy) >= 40) boxes.push(led(at(s.x + dx, s.y + dy, dx > 0 ? "start" : dx < 0 ? "end" : "middle", 0), [s.x, s.y], 21, 10 + more));
      }
      return boxes;
    };
    // The sign tells what it does, if there is no room for the word.
    const make = () => [...around(state.word, 0), ...(state.word && !bad ? around("", 25) : [])];
    const cost = (l) => (l[5] === i ? 8 : l[5] !== undefined ? (needed ? 75 : 110) : l[4] === a || l[4] === b ? 60 : needed ? 70 : 110);
    const write = (spot) => {
      this.lead(spot, bad ? "var(--danger)" : "var(--soft)");
      const g = el(this.labels, "g", { class: "element", "data-element": i, "data-bodies": `${a} ${b}` });
      text(g, spot.tx, spot.y + size, name, { size, anchor: spot.anchor, kind: bad ? "d" : needed ? "k" : "s" });
      if (spot.word) text(g, spot.tx, spot.y + 2 * size + 1, spot.word, { size: this.small, anchor: spot.anchor, kind: state.faulty ? "d" : "" });
    };
    return { spots: this.spots(`e${i} ${state.word} ${needed} ${bad}`, make, cost), needed, write };
  }

  // body is the label of a body: its name and speed at its line, with its dial.
  body(i, frame) {
    const { size, figure } = this;
    const v = frame.speeds[i];
    const value = frame.hidden ? "" : v === null ? frame.free[i] : speed(v);
    const b = figure.bodies[i];
    const role = i === figure.input ? "input" : i === figure.output ? "output" : null;
    const name = i === figure.input || i === figure.output && b.name.length > 14 ? role : b.name;
    // Words keep their place where only a number changes.
    const wide = frame.hidden ? 0 : Math.max(width(value, size), width("+0.000", size));
    const dial = 2 * DIAL + 8, h = Math.max(2 * DIAL + 2, size + 4);
    const make = () => {
      const boxes = [];
      const add = (short, w, h, price, two) => this.beside(i, w, h).forEach((box) => boxes.push({ ...box, short, two, price: box.price + price }));
      for (const [short, price] of [[name, 0], ...(role && role !== name ? [[role, 18]] : []), [b.tag, 30]]) {
        add(short, dial + width(`${short} `, size) + wide, h, price, false);
        if (short === name && !frame.hidden) add(short, dial + Math.max(width(short, size), wide), 2 * size + 4, 7, true);
      }
      return boxes;
    };
    const write = (spot) => {
      if (spot.short === b.tag) this.tags.add(i);
      this.lead(spot, hue(figure, i));
      const cx = spot.x + DIAL + 1, cy = spot.y + spot.h / 2;
      const g = el(this.labels, "g", { class: "body dial", "data-body": i });
      const free = v === null;
      el(g, "circle", { cx, cy, r: DIAL, fill: "var(--paper)", stroke: hue(figure, i), "stroke-width": 2.2, "stroke-dasharray": free && !frame.hidden ? "3 2.6" : null });
      if (!free || frame.hidden) {
        const hand = el(g, "line", { x1: 0, y1: 0, x2: 0, y2: -DIAL + 1.5, stroke: hue(figure, i), "stroke-width": 2.6, "stroke-linecap": "round", transform: `translate(${cx} ${cy})` });
        this.hands.push({ node: hand, at: `translate(${cx.toFixed(1)} ${cy.toFixed(1)})`, speed: v || 0, of: { body: i } });
      }
      const x = spot.x + 2 * DIAL + 7;
      if (spot.two) {
        text(g, x, cy - 2, spot.short, { size });
        text(g, x, cy + size - 2, value, { size });
      } else text(g, x, cy + size * 0.36, `${spot.short} ${value}`, { size });
    };
    return { spots: this.spots(`b${i} ${wide} ${frame.hidden || ""}`, make, (l) => (l[4] === i ? 8 : 45)), needed: false, write };
  }

  // beside are the places of a box of some size along the lines of a body, and farther off
  // with a leader to them.
  beside(i, w, h) {
    const boxes = [];
    const add = (x, y, price) => boxes.push({ x, y, w, h, price });
    const plan = this.plan.levels[i];
    for (const [x1, y1, x2, y2, , element] of this.pieces.filter((l) => l[4] === i)) {
      const [left, right] = [Math.min(x1, x2), Math.max(x1, x2)], [top, bottom] = [Math.min(y1, y2), Math.max(y1, y2)];
      if (y1 === y2) {
        const main = Math.abs(y1 - this.Y(plan.y)) < 0.5 ? 0 : 2;
        for (const [y, dear] of [[y1 - h - 4, 0], [y1 + 4, 1.5]]) {
          for (let x = left - w / 2; x <= right - w / 2; x += 6) {
            const beyond = Math.max(0, left - x, x + w - right);
            add(x, y, main + dear + 0.01 * Math.max(0, x - left) + (beyond > 0 ? 2 + beyond / 10 : 0));
          }
        }
        add(left - w - 8, y1 - h / 2, main + 6);
        add(right + 8, y1 - h / 2, main + 6);
      } else {
        const dear = element === undefined ? 4 : 7;
        for (let y = top; y <= bottom - h; y += 6) {
          add(x1 + 6, y, dear);
          add(x1 - w - 6, y, dear + 1);
        }
      }
      for (const far of [12, 22, 34, 48, 64]) {
        for (let x = left - w - far; x <= right + far; x += 9) for (const y of [top - h - far, bottom + far]) boxes.push(led({ x, y, w, h, price: 0 }, [Math.min(Math.max(x + DIAL + 1, left), right), y < top ? top : bottom], 0, 12));
        if (y1 !== y2) for (let y = top; y <= bottom - h; y += 9) for (const x of [left - w - far, left + far]) boxes.push(led({ x, y, w, h, price: 0 }, [left, y + h / 2], 0, 12));
      }
    }
    return boxes;
  }

  lead({ lead }, stroke) {
    if (lead) el(this.labels, "line", { x1: lead[0], y1: lead[1], x2: lead[2], y2: lead[3], stroke, "stroke-width": 1.6, "stroke-dasharray": "2 2.5", class: "leader" });
  }

  setName(s, g) {
    const { size } = this;
    const own = this.plan.sets[g].boxes;
    const x1 = this.X(Math.min(...own.map((b) => b.x))), x2 = this.X(Math.max(...own.map((b) => b.x + b.w)));
    const y2 = this.Y(Math.max(...own.map((b) => b.y + b.h))), y1 = this.Y(Math.min(...own.map((b) => b.y)));
    const small = this.small, w = width(s.name, small), h = small + 3;
    const make = () => {
      const boxes = [];
      for (let y = y1; y <= y2 - h; y += 4) {
        const price = (y2 - h - y) / 20;
        boxes.push({ x: x1 - w - 6, y, w, h, tx: x1 - 6, anchor: "end", price }, { x: x2 + 6, y, w, h, tx: x2 + 6, anchor: "start", price: price + 1 });
      }
      for (const dx of [0, -w / 2, w / 2]) for (const [y, price] of [[y2 + 3, 2], [y1 - h - 2, 3]]) {
        const tx = (x1 + x2) / 2 + dx;
        boxes.push({ x: tx - w / 2, y, w, h, tx, anchor: "middle", price: price + Math.abs(dx) / 20 });
      }
      for (const far of [18, 30, 44, 60]) for (let y = y1 - h - far; y <= y2 + far; y += 6) {
        const corner = y < y1 ? y1 : y > y2 ? y2 : y + h / 2;
        for (const [x, edge] of [[x1 - w - far, x1], [x2 + far, x2], [x1, x1 + 4], [x2 - w, x2 - 4]]) {
          if (y > y1 - h && y < y2 && x > x1 - w && x < x2) continue;
          boxes.push(led({ x, y, w, h, tx: x, anchor: "start", price: 0 }, [edge, corner], 0, 8));
        }
      }
      return boxes;
    };
    const write = (spot) => {
      this.lead(spot, "var(--soft)");
      text(this.labels, spot.tx, spot.y + small, s.name, { size: small, anchor: spot.anchor, kind: "s" });
    };
    return { spots: this.spots(`s${g}`, make, () => 110), needed: false, write };
  }
}

// led gives a box its leader from a point, or from so far off it, and the price of it.
function led(box, [x, y], off, price) {
  const ex = Math.min(Math.max(x, box.x), box.x + box.w), ey = Math.min(Math.max(y, box.y), box.y + box.h);
  const gap = Math.hypot(ex - x, ey - y);
  if (gap <= off) return { ...box, price: 1000 };
  return { ...box, lead: [x + ((ex - x) * off) / gap, y + ((ey - y) * off) / gap, ex, ey], price: price + gap / 4 };
}

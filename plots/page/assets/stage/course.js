// A shift in time: curves of speed and torque over the seconds, and a cursor that
// scrubs gears, half-section and lever with them.
import { el, set, text, fresh, hue, width } from "./svg.js";
import { apart } from "./labels.js";
import { still } from "./clock.js";

const SLOWER = 10; // play takes ten times as long as the shift
const STEPS = 40; // of a shift, where motion is unwanted

export class Course {
  // moved is called with what another moment shows, turned whenever time went on, rests
  // with the moment at which the cursor comes to rest.
  constructor(place, figure, { size = 14 } = {}, { moved, turned, rests }) {
    Object.assign(this, { place, figure, size, moved, turned, rests, time: 0, playing: 0 });
  }

  get has() {
    return Boolean(this.data);
  }

  put(data) {
    this.data = data;
    this.turns = null;
    if (!data) return;
    const { size } = this;
    const [svg, w, h] = fresh(this.place);
    Object.assign(this, { svg, w, h });
    this.shown = -1;
    this.time = Math.min(this.time, data.times.at(-1));
    this.sum();
    const small = Math.max(12, size - 1);
    const end = data.times.at(-1) || 1;
    const all = data.curves.flatMap((c) => c.values).filter((v) => v !== null);
    const lo = Math.min(0, ...all), hi = Math.max(1, ...all);
    const step = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000].find((s) => (hi - lo) / s <= 5) || 10000;
    const values = [];
    for (let v = Math.ceil(lo / step) * step; v <= hi; v += step) values.push([v, String(v).replace("-", "−")]);
    const left = Math.max(56, ...values.map(([, t]) => width(t, small) + 14));
    const right = Math.min(Math.max(140, ...data.curves.map((c) => width(c.name, small) + 32)), w * 0.4);
    this.X = (t) => left + (t / end) * (w - left - right);
    // What the train does in a phase stands above the curves, where it has room.
    const said = data.phases.flatMap(({ from, says, danger }, k) => {
      const x = this.X(from), next = this.X(data.phases[k + 1]?.from ?? end);
      return width(says, small, danger) < next - x - 6 ? [[(x + next) / 2, says, danger ? "d" : "s"]] : [];
    });
    const band = said.length && h > 200 ? small + 4 : 0;
    const top = 2 * size + 16 + band, bottom = size + 16;
    this.Y = (v) => h - bottom - ((v - lo) / (hi - lo || 1)) * (h - top - bottom);
    text(svg, w - 12, size + 6, `speeds, ${data.unit}`, { size: small, anchor: "end", kind: "s" });
    const most = Math.min(6, (w - left - right) / (width("0.00 s", small) * 1.5));
    const tick = [0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10].find((s) => end / s <= most) || 20;
    for (let k = 0; k * tick <= end; k++) {
      const t = k * tick;
      el(svg, "line", { x1: this.X(t), x2: this.X(t), y1: top, y2: h - bottom, stroke: "var(--line)", "stroke-width": 1 });
      text(svg, this.X(t), h - bottom + size + 6, `${t.toFixed(tick < 0.1 ? 2 : 1)} s`, { size: small, anchor: "middle", kind: "s" });
    }
    // That of the foot stands above the line, off the seconds below it.
    for (const [v, t] of values) text(svg, left - 8, Math.min(this.Y(v) + small * 0.36, h - bottom - 2), t, { size: small, anchor: "end", kind: "s" });
    el(svg, "line", { x1: left, x2: w - right, y1: this.Y(0), y2: this.Y(0), stroke: "var(--soft)", "stroke-width": 1.5 });
    for (const { from } of data.phases.slice(1)) {
      el(svg, "line", { x1: this.X(from), x2: this.X(from), y1: top - band, y2: h - bottom, stroke: "var(--soft)", "stroke-width": 1, "stroke-dasharray": "2 4" });
    }
    // Where not all names have a line, their tags stand in two columns.
    const crowd = data.curves.length * (size + 3) > h - top;
    const ends = apart(data.curves.map((c) => this.Y(c.values.at(-1))), (size + 3) / (crowd ? 2 : 1), top, h - bottom);
    const order = ends.map((_, k) => k).sort((a, b) => ends[a] - ends[b]);
    const place = (k) => {
      const i = order.indexOf(k);
      return crowd ? [w - right + 7 + (i % 2) * (right / 2 - 4), ends[order[i - (i % 2)]]] : [w - right + 7, ends[k]];
    };
    // Of curves that lie on each other nearly all of the time the upper are dashed.
    const hides = (a, b) => a.values.filter((v, i) => Math.abs(this.Y(v) - this.Y(b.values[i])) < 2).length >= 0.9 * a.values.length;
    data.curves.forEach((c, k) => {
      const below = data.curves.slice(0, k).filter((b) => hides(c, b)).length;
      const colour = hue(this.figure, c.body);
      const d = c.values.map((v, i) => `${i ? "L" : "M"}${this.X(data.times[i]).toFixed(1)} ${this.Y(v).toFixed(1)}`).join("");
      const g = el(svg, "g", { class: "body", "data-body": c.body });
      el(g, "path", { d, fill: "none", stroke: colour, "stroke-width": 2.6, "stroke-linejoin": "round", ...(below && { "stroke-dasharray": `${24 / 2 ** below} ${24 - 24 / 2 ** below}` }) });
      const room = right - 26, name = crowd || width(c.name, small) > room ? this.figure.bodies[c.body]?.tag || c.name : c.name;
      const [x, y] = place(k);
      el(g, "rect", { x, y: y - 5, width: 10, height: 10, rx: 2, fill: colour });
      text(g, x + 15, y + size * 0.36, name, { size: small });
    });
    this.cursor = el(svg, "line", { y1: top - (band || 8), y2: h - bottom + 4, stroke: "var(--ink)", "stroke-width": 2.5 });
    this.clockText = text(svg, 0, top - band - 12, "", { size, anchor: "start", kind: "k" });
    if (band) said.forEach(([x, says, kind]) => text(svg, x, top - 8, says, { size: small, anchor: "middle", kind }));
    this.slider();
    this.go(this.time);
  }

  // slider is the range input under the curves: keys and fingers move the cursor.
  slider() {
    const input = document.getElementById("moment");
    if (!input) return;
    input.max = this.data.times.length - 1;
    input.oninput = () => {
      this.stop();
      this.go(this.data.times[Number(input.value)]);
    };
    input.onchange = this.svg.onpointerup = () => this.rests(this.time);
    this.svg.onpointerdown = this.svg.onpointermove = (event) => {
      if (!(event.buttons & 1)) return;
      const box = this.svg.getBoundingClientRect();
      const end = this.data.times.at(-1);
      const t = ((event.clientX - box.left - this.X(0)) / (this.X(end) - this.X(0))) * end;
      this.stop();
      this.go(Math.min(Math.max(t, 0), end));
    };
  }

  // sum adds up how far everything has turned at each moment, in turns: by its speed,
  // at a tenth of its pace, as play shows it.
  sum() {
    const { data } = this;
    const add = (rows) => {
      const sums = [rows[0].map(() => 0)];
      for (let k = 1; k < rows.length; k++) {
        const long = ((data.times[k] - data.times[k - 1]) * SLOWER) / 60;
        sums.push(rows[k].map((v, i) => sums[k - 1][i] + (((v || 0) + (rows[k - 1][i] || 0)) / 2) * long));
      }
      return sums;
    };
    this.turns = { speeds: add(data.speeds), pinions: add(data.pinions) };
  }

  // angle is how far something has turned about its own middle now, in turns for each
  // turn per minute of the clock.
  angle(of) {
    const { times } = this.data;
    const k = Math.max(1, this.row(this.time));
    const part = Math.min(1, Math.max(0, (this.time - times[k - 1]) / (times[k] - times[k - 1] || 1)));
    const at = (sums, i) => (i < 0 ? 0 : sums[k - 1][i] + (sums[k][i] - sums[k - 1][i]) * part);
    if (of.body !== undefined) return at(this.turns.speeds, of.body);
    return at(this.turns.pinions, of.pinion) - at(this.turns.speeds, of.carrier);
  }

  // row is the first moment that is not before a time.
  row(t) {
    const k = this.data.times.findIndex((x) => x >= t - 1e-9);
    return k < 0 ? this.data.times.length - 1 : k;
  }

  // go shows the time t: the row of the course at it, everything turned as far.
  go(t) {
    const { data } = this;
    this.time = t;
    const k = this.row(t);
    if (k === this.shown) return this.turned();
    this.shown = k;
    const x = this.X(data.times[k]);
    set(this.cursor, { x1: x, x2: x });
    set(this.clockText, { x: Math.max(x - width("0.00 s", this.size, true) / 2, 4) });
    this.clockText.textContent = `${data.times[k].toFixed(2)} s`;
    const { does, closed, held, inputs, says, danger } = data.phases[data.phase[k]];
    const input = document.getElementById("moment");
    if (input) {
      input.value = k;
      input.setAttribute("aria-valuetext", `${data.times[k].toFixed(2)} seconds: ${says}`);
    }
    const now = document.getElementById("moment-now");
    if (now) now.textContent = data.rows[k];
    this.moved({
      timed: true, phase: data.phase[k], head: says, danger, held, inputs, does, closed, doings: data.words, speeds: data.speeds[k],
      pinions: data.pinions?.[k] || this.figure.pinions.map(() => null), line: -1, free: data.speeds[k].map(() => ""), loaded: [],
    });
  }

  // by goes on, or back, by some moments.
  by(k) {
    const { times } = this.data;
    this.stop(false);
    this.go(times[Math.min(Math.max(this.row(this.time) + k, 0), times.length - 1)]);
    this.rests(this.time);
  }

  play() {
    if (this.playing) return this.stop();
    const end = this.data.times.at(-1);
    if (this.time >= end) this.time = 0;
    if (still.matches) {
      this.go(Math.min(this.time + end / STEPS, end));
      return this.rests(this.time);
    }
    let last = 0;
    const on = (now) => {
      if (last) this.go(Math.min(this.time + (now - last) / 1000 / SLOWER, end));
      last = now;
      if (this.time >= end) return this.stop();
      this.playing = requestAnimationFrame(on);
    };
    this.playing = requestAnimationFrame(on);
    document.querySelector("#play .word").textContent = "Pause";
  }

  stop(tell = true) {
    if (tell && this.playing) this.rests(this.time);
    cancelAnimationFrame(this.playing);
    this.playing = 0;
    const word = document.querySelector("#play .word");
    if (word) word.textContent = still.matches ? "Step" : "Play";
  }
}

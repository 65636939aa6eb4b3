// A shift in time: curves of speed and torque over the seconds, and a cursor that
// scrubs gears, half-section and lever with them.
import { el, set, text, fresh, hue, width } from "./svg.js";
import { apart } from "./labels.js";

const SLOWER = 10; // play takes ten times as long as the shift

export class Course {
  constructor(place, figure, { size = 14, narrow = false } = {}, moved) {
    Object.assign(this, { place, figure, size, narrow, moved, time: 0, playing: 0 });
  }

  get has() {
    return Boolean(this.data);
  }

  put(data) {
    this.data = data;
    if (!data) return;
    const { size, place } = this;
    const [svg, w, h] = fresh(place);
    Object.assign(this, { svg, w, h });
    const left = 56, right = 140, top = 44, bottom = 30;
    const end = data.times.at(-1) || 1;
    const all = data.curves.flatMap((c) => c.values).filter((v) => v !== null);
    const lo = Math.min(0, ...all), hi = Math.max(1, ...all);
    this.X = (t) => left + (t / end) * (w - left - right);
    this.Y = (v) => h - bottom - ((v - lo) / (hi - lo || 1)) * (h - top - bottom);
    text(svg, w - 12, 20, `speeds, ${data.unit}`, { size: Math.max(12, size - 1), anchor: "end", kind: "s" });
    for (let k = 0; k <= 4; k++) {
      const t = (end * k) / 4;
      el(svg, "line", { x1: this.X(t), x2: this.X(t), y1: top, y2: h - bottom, stroke: "var(--line)", "stroke-width": 1 });
      text(svg, this.X(t), h - bottom + 18, `${t.toFixed(1)} s`, { size: Math.max(12, size - 1), anchor: "middle", kind: "s" });
    }
    const step = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000].find((s) => (hi - lo) / s <= 5) || 10000;
    for (let v = Math.ceil(lo / step) * step; v <= hi; v += step) {
      text(svg, left - 8, this.Y(v) + 4, String(v).replace("-", "−"), { size: Math.max(12, size - 1), anchor: "end", kind: "s" });
    }
    el(svg, "line", { x1: left, x2: w - right, y1: this.Y(0), y2: this.Y(0), stroke: "var(--soft)", "stroke-width": 1.5 });
    for (const e of data.events || []) {
      el(svg, "line", { x1: this.X(e.t), x2: this.X(e.t), y1: top, y2: h - bottom, stroke: "var(--soft)", "stroke-width": 1, "stroke-dasharray": "2 4" });
    }
    const ends = apart(data.curves.map((c) => this.Y(c.values.at(-1))), size + 3, top, h - bottom);
    data.curves.forEach((c, k) => {
      const colour = hue(this.figure, c.body);
      const d = c.values.map((v, i) => `${i ? "L" : "M"}${this.X(data.times[i]).toFixed(1)} ${this.Y(v).toFixed(1)}`).join("");
      const g = el(svg, "g", { class: "body", "data-body": c.body });
      el(g, "path", { d, fill: "none", stroke: colour, "stroke-width": 2.6, "stroke-linejoin": "round" });
      const room = right - 26, name = width(c.name, size) > room ? this.figure.bodies[c.body]?.tag || c.name : c.name;
      el(g, "rect", { x: w - right + 7, y: ends[k] - 5, width: 10, height: 10, rx: 2, fill: colour });
      text(g, w - right + 22, ends[k] + size * 0.36, name, { size: Math.max(12, size - 1) });
    });
    this.cursor = el(svg, "line", { y1: top - 8, y2: h - bottom + 4, stroke: "var(--ink)", "stroke-width": 2.5 });
    this.clockText = text(svg, 0, top - 12, "", { size, anchor: "middle", kind: "k" });
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
    this.svg.onpointerdown = this.svg.onpointermove = (event) => {
      if (!(event.buttons & 1)) return;
      const box = this.svg.getBoundingClientRect();
      const end = this.data.times.at(-1);
      const t = ((event.clientX - box.left - this.X(0)) / (this.X(end) - this.X(0))) * end;
      this.stop();
      this.go(Math.min(Math.max(t, 0), end));
    };
  }

  // go shows the moment t: the row of the course at it.
  go(t) {
    const { data } = this;
    this.time = t;
    let k = data.times.findIndex((x) => x >= t - 1e-9);
    if (k < 0) k = data.times.length - 1;
    const x = this.X(data.times[k]);
    set(this.cursor, { x1: x, x2: x });
    set(this.clockText, { x });
    this.clockText.textContent = `${data.times[k].toFixed(2)} s`;
    const input = document.getElementById("moment");
    if (input) {
      input.value = k;
      input.setAttribute("aria-valuetext", `${data.times[k].toFixed(2)} seconds`);
    }
    const now = document.getElementById("moment-now");
    if (now) now.textContent = data.rows[k];
    this.moved({ does: (data.does || [])[k], doings: data.words, speeds: data.speeds[k], pinions: data.pinions?.[k] || this.figure.pinions.map(() => null), line: -1, free: data.speeds[k].map(() => ""), ...(data.tied?.[data.ties[k]] || { held: [], inputs: [] }), loaded: [] });
  }

  play() {
    if (this.playing) return this.stop();
    if (this.time >= this.data.times.at(-1)) this.time = 0;
    let last = 0;
    const on = (now) => {
      if (last) this.go(Math.min(this.time + (now - last) / 1000 / SLOWER, this.data.times.at(-1)));
      last = now;
      if (this.time >= this.data.times.at(-1)) return this.stop();
      this.playing = requestAnimationFrame(on);
    };
    this.playing = requestAnimationFrame(on);
    document.querySelector("#play .word").textContent = "Pause";
  }

  stop() {
    cancelAnimationFrame(this.playing);
    this.playing = 0;
    const word = document.querySelector("#play .word");
    if (word) word.textContent = "Play";
  }
}

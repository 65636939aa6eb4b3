// The stage: three pictures of one train, drawn once, to which a change of state
// sends numbers alone. It knows nothing of gear trains: what a state does, its words
// and its frames are the server's.
import { Clock, still } from "./clock.js";
import { Section } from "./section.js";
import { Gears } from "./gears.js";
import { Lever } from "./lever.js";
import { Course } from "./course.js";
import { speed, unit } from "./svg.js";

const SWING = 320; // milliseconds of a change of state
const FRAME = 3000; // of a frame of a story
const VIEWS = ["", "section", "gears", "lever"];

// note writes into the address what the stage itself has changed of its state; nothing for
// the usual.
export function note(key, value) {
  const address = new URL(location.href);
  if (value) address.searchParams.set(key, value);
  else address.searchParams.delete(key);
  history.replaceState(null, "", address);
}

const page = () => document.getElementById("page");
const ease = (t) => 1 - (1 - t) ** 3;

export class Stage {
  constructor() {
    this.clock = new Clock((turns) => this.turn(turns));
    this.frame = null;
    this.step = 0; // of the story, counted from 1; 0 for the state as it is
    this.story = 0; // the timer of the next frame
    this.leverPage = 0;
    this.ramp = 0;
    this.observer = new ResizeObserver(() => this.resized());
    still.addEventListener("change", () => {
      this.clock.run(!still.matches && Boolean(this.figure) && !this.scene?.course);
      this.buttons();
    });
  }

  // load takes a train; places are those of the page that is shown.
  load(figure) {
    this.figure = figure;
    this.leverPage = 0;
    this.scene = null;
    this.draw();
    this.observer.disconnect();
    for (const id of ["section", "gears", "lever", "course"]) {
      const place = document.getElementById(id);
      if (place) this.observer.observe(place);
    }
  }

  leave() {
    this.stopStory();
    this.course?.stop(false);
    this.clock.run(false);
    this.observer.disconnect();
    this.figure = this.scene = this.section = this.gears = this.lever = this.course = null;
  }

  resized() {
    cancelAnimationFrame(this.waits);
    this.waits = requestAnimationFrame(() => {
      if (!this.figure || this.drawnFor === this.sizes()) return;
      this.draw();
      this.refresh();
    });
  }

  sizes() {
    return ["section", "gears", "lever", "course"].map((id) => document.getElementById(id)).map((e) => e && `${e.clientWidth}x${e.clientHeight}`).join();
  }

  // draw makes the pictures of the train for the places as they are.
  draw() {
    const present = page().classList.contains("present");
    const narrow = innerWidth <= 640;
    const size = present ? innerHeight * 0.0265 : narrow ? 13 : innerWidth > 1700 ? 16 : innerWidth <= 1200 ? 13 : 14;
    const shown = (id) => {
      const e = document.getElementById(id);
      return e && e.clientWidth > 40 && e.clientHeight > 40 ? e : null;
    };
    const options = { size, present, narrow, page: this.leverPage };
    const at = { section: shown("section"), gears: shown("gears"), lever: shown("lever"), course: shown("course") };
    this.section = at.section && new Section(at.section, this.figure, options);
    this.gears = at.gears && new Gears(at.gears, this.figure, { ...options, bare: present && Boolean(at.course) && this.figure.sets.length > 2 });
    this.lever = at.lever && new Lever(at.lever, this.figure, options);
    const other = document.getElementById("other-lever");
    if (other && this.lever) {
      const { page, pages } = this.lever;
      other.hidden = pages < 2;
      other.textContent = `lever ${page + 1} of ${pages} ›`;
      other.setAttribute("aria-label", `Lever ${page + 1} of ${pages}: show the next`);
    }
    const time = this.course?.time || 0;
    this.course?.stop(false);
    this.course = at.course && new Course(at.course, this.figure, options, {
      moved: (t) => this.scrub(t), turned: () => this.turn(this.clock.turns), rests: (t) => note("moment", t && t.toFixed(3) - 0),
    });
    if (this.course) this.course.time = time;
    this.drawnFor = this.sizes();
  }

  // put shows a scene. With the same train the lines swing to it.
  put(scene, step = 0, moment = 0) {
    this.stopStory();
    this.course?.stop(false);
    const before = this.frame;
    const lying = this.lever?.lying();
    this.scene = scene;
    this.lever?.scene(scene);
    this.step = Math.min(step, scene.frames.length);
    this.show(this.current(), before, lying);
    if (this.course) this.course.time = moment;
    this.course?.put(scene.course);
    this.clock.run(!still.matches && !this.paused && !scene.course); // a shift has its own time
    this.buttons();
  }

  // refresh shows what is shown in pictures that were drawn anew.
  refresh() {
    if (!this.scene) return;
    this.lever?.scene(this.scene);
    this.show(this.current());
    this.course?.put(this.scene.course);
  }

  current() {
    if (this.held && this.scene.healthy) return this.scene.healthy;
    return this.step ? this.scene.frames[this.step - 1] : this.scene.base;
  }

  show(frame, before = null, lying = null, ramp = true) {
    this.frame = frame;
    const quick = (v, z) => this.clock.quick(v, z);
    this.section?.show(frame);
    this.gears?.show(frame, quick);
    this.lever?.show(frame, before && still.matches && before.speeds !== frame.speeds ? before.speeds : null);
    this.pace(ramp);
    if (lying && !still.matches && this.lever) this.swing(lying);
    this.words();
    this.turn(this.clock.turns);
    this.light(this.lit);
  }

  // pace sets how far the clock may go in a frame, so that no wheel with teeth passes
  // more than a quarter pitch, and lets speeds ramp from what they were.
  pace(ramp) {
    this.movers = [...(this.section?.hands || []), ...(this.gears?.movers() || [])];
    this.clock.limit = Infinity;
    for (const d of this.gears?.discs() || []) {
      const v = Math.abs(this.gears.sets[0].picture.speedOf(d.of, this.frame));
      if (!d.fast && d.z && v) this.clock.limit = Math.min(this.clock.limit, 0.25 / d.z / v);
    }
    if (still.matches || !ramp) return;
    const begin = performance.now();
    const on = (now) => {
      this.clock.slow = ease(Math.min(1, (now - begin) / SWING));
      if (this.clock.slow < 1) requestAnimationFrame(on);
    };
    this.clock.slow = 0.001;
    requestAnimationFrame(on);
  }

  swing(lying) {
    const begin = performance.now();
    cancelAnimationFrame(this.ramp);
    const lever = this.lever;
    const on = (now) => {
      const part = ease(Math.min(1, Math.max(0, (now - begin) / SWING)));
      lever.swing(lying, part);
      if (part < 1) this.ramp = requestAnimationFrame(on);
    };
    lever.swing(lying, 0);
    this.ramp = requestAnimationFrame(on);
  }

  // turn puts every part where the clock has it: its speed times the clock, in turns; in
  // a shift, where speeds change, as far as it has turned since the beginning.
  turn(turns) {
    const course = this.course?.turns ? this.course : null;
    for (const m of this.movers || []) {
      const turned = course ? course.angle(m.of) * this.clock.pace : m.speed * turns;
      const angle = (turned % 1) * 360 + ((m.phase || 0) * 180) / Math.PI;
      m.node.setAttribute("transform", `${m.at} rotate(${angle.toFixed(2)})`);
    }
  }

  // words are those of the frame, in place of the state's.
  words() {
    const band = document.getElementById("band");
    const head = band?.querySelector(".head"), why = band?.querySelector(".why");
    if (!head || !why || this.frame.hidden) return;
    if (this.frame.timed) {
      head.textContent = this.frame.head;
      page().classList.toggle("danger", this.frame.danger);
      const sign = document.getElementById("signs")?.children[this.frame.phase];
      if (sign) band.querySelector(".sign").innerHTML = sign.innerHTML;
      return;
    }
    const own = this.held ? this.scene.healthy.head : this.step ? this.frame.head : "";
    head.textContent = own || head.dataset.own;
    band.classList.toggle("told", Boolean(own));
    if (this.scene.course) return; // its words stand
    why.textContent = this.frame.text;
    const long = [...this.frame.text].length;
    why.classList.toggle("much", long > 150 && long <= 240);
    why.classList.toggle("most", long > 240);
    page().classList.toggle("calm", Boolean(this.frame.calm || this.held));
    for (const note of document.querySelectorAll("#ways [data-line]")) {
      const line = Number(note.dataset.line);
      const now = this.step && this.frame.line >= 0 ? line === this.frame.line : line < 0;
      if (this.scene.lines.length && !this.scene.rolling) note.toggleAttribute("aria-current", now);
    }
    // What is told of the state as it is is not told of another motion.
    const healthy = this.held || this.frame.healthy;
    const other = Boolean(healthy || own);
    band.classList.toggle("other", other);
    const tells = !other ? "now" : healthy ? "healthy" : "";
    for (const note of document.querySelectorAll("#ways [data-tells]")) note.toggleAttribute("aria-current", note.dataset.tells === tells);
    for (const label of document.querySelectorAll("#console [data-range]")) {
      label.classList.toggle("missed", (this.frame.missed || []).includes(label.dataset.range));
    }
    band.dataset.step = this.step;
  }

  // --- Stories ---

  // go shows frame k of the story, counted from 1; 0 is the state as it is.
  go(k, tell = true) {
    if (!this.scene) return;
    if (this.course?.has) return this.course.by(k - this.step);
    const n = this.scene.frames.length;
    this.step = Math.min(Math.max(k, 0), n);
    const lying = this.lever?.lying();
    this.show(this.current(), this.frame, lying);
    note("step", this.step);
    if (tell) document.getElementById("told").textContent = this.frame.text;
    this.buttons();
  }

  playStory() {
    const n = this.scene.frames.length;
    const on = () => {
      if (this.step >= n) return this.stopStory();
      this.go(this.step + 1);
      this.story = setTimeout(on, FRAME);
      this.buttons();
    };
    if (this.step >= n) this.step = 0;
    this.story = 1;
    on();
  }

  stopStory() {
    clearTimeout(this.story);
    this.story = 0;
    this.buttons();
  }

  // play is the button and the space bar: it plays the story, or lets the train turn,
  // and stops both. Where motion is unwanted it goes on by a step.
  play() {
    if (!this.scene) return;
    if (this.course?.has) return this.course.play();
    if (still.matches) {
      if (this.scene.frames.length) this.go(this.step >= this.scene.frames.length ? 0 : this.step + 1);
      else this.turn((this.clock.turns += 1 / 24));
      return;
    }
    if (this.story) {
      this.stopStory();
      this.pause(true);
    } else if (this.scene.frames.length && !this.paused && this.step < this.scene.frames.length) {
      this.playStory();
    } else if (this.scene.frames.length && this.step >= this.scene.frames.length) {
      this.pause(false);
      this.playStory();
    } else {
      this.pause(!this.paused);
    }
  }

  pause(on) {
    this.paused = on;
    this.clock.run(!on && !still.matches);
    this.buttons();
  }

  buttons() {
    const play = document.getElementById("play");
    if (!play || !this.scene) return;
    const n = this.scene.frames.length;
    const word = play.querySelector(".word");
    if (this.course?.has) word.textContent = still.matches ? "Step" : this.course.playing ? "Pause" : "Play";
    else if (still.matches) word.textContent = n ? `Step ${this.step}/${n}` : "Step";
    else if (this.story) word.textContent = `Pause ${this.step}/${n}`;
    else if (this.paused) word.textContent = "Play";
    else word.textContent = n ? (this.step ? `Play ${this.step}/${n}` : "Play why") : "Pause";
    play.title = n ? "Play the reason, frame by frame" : "Let the gears turn, or stop them";
  }

  // scrub shows a moment of a shift in time.
  scrub(frame) {
    if (!this.scene) return;
    const { base } = this.scene;
    const elements = base.elements.map((e, k) => {
      const does = frame.does?.[k];
      if (does === undefined || e.faulty) return e;
      return { ...e, word: frame.doings[does], closed: frame.closed[k], loaded: false, conflict: false };
    });
    this.show({ ...base, ...frame, elements }, null, null, false);
  }

  // --- Views and bodies ---

  // otherLever shows the next of levers that have no room beside each other.
  otherLever() {
    this.leverPage = (this.leverPage + 1) % this.lever.pages;
    this.redraw();
  }

  view() {
    const p = page();
    if (this.lever && this.leverPage < this.lever.pages - 1) {
      this.leverPage++;
    } else {
      this.leverPage = 0;
      const views = VIEWS.filter((v) => !v || document.getElementById(v));
      p.dataset.view = views[(views.indexOf(p.dataset.view || "") + 1) % views.length];
    }
    note("view", p.dataset.view);
    this.redraw();
  }

  redraw() {
    if (!this.figure) return;
    this.draw();
    this.refresh();
  }

  hold(on) {
    if (!this.scene?.healthy || this.held === on) return;
    this.held = on;
    this.show(this.current(), this.frame, this.lever?.lying());
  }

  // light shows one body in every picture, and what is known of it; null for all.
  light(body) {
    this.lit = body;
    const p = page();
    p.classList.toggle("lighting", body !== null && body !== undefined);
    for (const e of document.querySelectorAll("#stage .body.lit")) e.classList.remove("lit");
    const info = document.getElementById("info");
    if (info) info.hidden = true;
    if (body === null || body === undefined || !this.frame) return;
    for (const e of document.querySelectorAll(`#stage .body[data-body="${body}"]`)) e.classList.add("lit");
    if (info) {
      info.textContent = this.about(body);
      info.hidden = false;
    }
  }

  // about tells a body: name, members, teeth, speed, torque.
  about(body) {
    const b = this.figure.bodies[body];
    if (!b) return "housing";
    const own = b.members.length === 1; // it is named once
    const member = (m, i) => (b.teeth[i] ? `${m} ${b.teeth[i]} teeth` : m);
    const words = [own ? member(b.name, 0) : `${b.name}: ${b.members.map(member).filter((m) => m !== b.name).join(", ")}`];
    if (!this.frame.hidden) {
      const v = this.frame.speeds[body];
      words.push(v === null ? this.frame.free[body] : `${speed(v)} ${unit(this.frame)}`);
      const torque = (this.frame.torques || [])[body];
      if (torque) words.push(`torque per unit of input torque: ${own ? torque.replace(`${b.name} `, "") : torque}`);
    }
    return words.join(" · ");
  }

  element(i) {
    const e = this.figure.elements[i], s = this.frame.elements[i];
    const name = (b) => (b < 0 ? "the housing" : this.figure.bodies[b]?.name || "a pinion");
    return `${e.name}, ${e.kind} · ${e.b < 0 || e.a < 0 ? "holds " + name(e.a < 0 ? e.b : e.a) : `joins ${name(e.a)} and ${name(e.b)}`}${s.word ? " · " + s.word : ""}`;
  }
}

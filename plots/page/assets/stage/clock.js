// One clock for everything that turns: the angle of a part is its speed times the
// clock, rounded only when it is written. The clock is not reset by a change of state.

export const still = matchMedia("(prefers-reduced-motion: reduce)");

const FRAME = 1000 / 60;

export class Clock {
  constructor(draw) {
    Object.assign(this, { draw, turns: 0, pace: 4, running: false, last: 0, limit: Infinity, slow: 1 });
    this.tick = this.tick.bind(this);
    document.addEventListener("visibilitychange", () => (this.last = 0));
  }

  run(on) {
    if (on === this.running) return;
    this.running = on;
    this.last = 0;
    if (on) requestAnimationFrame(this.tick);
  }

  // tick goes on by the time since the last frame, though never so far that a wheel
  // with teeth passes more than a quarter pitch: else it would seem to turn backward.
  tick(now) {
    if (!this.running) return;
    if (this.last && !document.hidden) {
      const step = (Math.min(now - this.last, 250) / 60000) * this.pace;
      this.turns += Math.min(step, this.limit) * this.slow;
      const begin = performance.now();
      this.draw(this.turns);
      this.work = performance.now() - begin;
    }
    this.last = now;
    requestAnimationFrame(this.tick);
  }

  // quick says whether a wheel of z teeth at this speed would pass more than a quarter
  // pitch in a frame of a sixtieth of a second.
  quick(speed, z) {
    return z > 0 && (Math.abs(speed) * this.pace * FRAME) / 60000 > 0.25 / z;
  }
}

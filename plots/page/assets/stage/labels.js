// Where words go. Lines may pass behind a label, at a price, those of its own body or element
// at a lower one, and at a high one where its name would seem to be that of another; other labels and signs may not. What does not fit and is not needed is
// left out.

const over = (a, b) => a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h;

// crosses says whether a straight line goes through a box [Liang and Barsky 1984].
const crosses = ([x1, y1, x2, y2], b) => {
  if (Math.max(x1, x2) <= b.x || Math.min(x1, x2) >= b.x + b.w || Math.max(y1, y2) <= b.y || Math.min(y1, y2) >= b.y + b.h) return false;
  if (x1 === x2 || y1 === y2) return true;
  let from = 0, to = 1;
  for (const [at, step, low, high] of [[x1, x2 - x1, b.x, b.x + b.w], [y1, y2 - y1, b.y, b.y + b.h]]) {
    const t = (low - at) / step, u = (high - at) / step;
    from = Math.max(from, Math.min(t, u));
    to = Math.min(to, Math.max(t, u));
  }
  return from < to;
};

export class Room {
  // w and h bound the labels; signs are boxes that they keep clear of; lines, twice as wide
  // as half, cost.
  constructor(w, h, signs = [], lines = [], half = 0) {
    Object.assign(this, { w, h, signs, lines, half, taken: [] });
  }

  take(box) {
    this.taken.push(box);
  }

  // put finds the best of some boxes, each with a price of its own, and takes it: those
  // that stand at a marker of their own may lie over lines (over). It
  // returns its index, -1 if none is free and it need not stand at all costs.
  put(boxes, needed = false) {
    let best = -1;
    let least = needed ? Infinity : 100;
    boxes.forEach((b, i) => {
      const price = this.price(b, least);
      if (price < least) [best, least] = [i, price];
    });
    if (best >= 0) this.take(boxes[best]);
    return best;
  }

  // price is what a box costs; it stops counting at more than most.
  price(b, most) {
    let sum = b.price || 0;
    if (sum >= most) return sum;
    if (b.x < 2 || b.y < 2 || b.x + b.w > this.w - 2 || b.y + b.h > this.h - 2) sum += 400;
    for (const t of this.taken) if (over(t, b)) sum += 200;
    if (sum >= most) return sum;
    for (const s of this.signs) if (over(s, b)) sum += 150;
    if (sum >= most) return sum;
    if (b.over) return sum;
    const wide = { x: b.x - this.half, y: b.y - this.half, w: b.w + 2 * this.half, h: b.h + 2 * this.half };
    for (const l of this.lines) if (crosses(l, wide)) sum += l[4] !== undefined && l[4] === b.own ? 8 : b.named !== undefined && l[5] !== undefined ? (l[5] === b.named ? 8 : b.dear) : 20;
    return sum;
  }
}

// apart moves values as little as needed so that neighbours are a gap apart within
// low and high: blocks that touch settle at the mean of what they want.
export function apart(values, gap, low, high) {
  const order = values.map((_, i) => i).sort((a, b) => values[a] - values[b]);
  const blocks = [];
  const settle = (b) => (b.start = Math.min(Math.max(b.sum / b.n, low), Math.max(high - gap * (b.n - 1), low)));
  for (const i of order) {
    let b = { sum: values[i], n: 1 };
    settle(b);
    while (blocks.length && blocks.at(-1).start + gap * blocks.at(-1).n > b.start) {
      const last = blocks.pop();
      b = { sum: last.sum + b.sum - gap * last.n * b.n, n: last.n + b.n };
      settle(b);
    }
    blocks.push(b);
  }
  const out = [];
  let k = 0;
  for (const b of blocks) for (let j = 0; j < b.n; j++) out[order[k++]] = b.start + gap * j;
  return out;
}

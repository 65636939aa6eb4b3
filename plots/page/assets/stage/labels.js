// Where words go. Each label has spots with prices: what it covers, how far it stands from
// what it names, how short it is. Lines may pass behind it, those of its own body or element at
// a low price; other labels and signs may not. What does not fit and is not needed is left out.

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

// around is a box around a level or upright line.
const around = ([x1, y1, x2, y2]) => ({ x: Math.min(x1, x2) - 1, y: Math.min(y1, y2) - 1, w: Math.abs(x2 - x1) + 2, h: Math.abs(y2 - y1) + 2 });

const DEAR = 100; // what is not needed and costs more is left out
const ROUNDS = 3; // in which labels look for a better spot among the others

export class Room {
  // w and h bound the labels; signs are boxes that they keep clear of, lines, twice as wide
  // as half, what they should not cover.
  constructor(w, h, signs = [], lines = [], half = 0) {
    Object.assign(this, { w, h, signs, lines, half, taken: [] });
  }

  take(box) {
    this.taken.push(box);
  }

  // put finds the best of some boxes, each with a price of its own, and takes it. It returns
  // its index, -1 if none is free and it need not stand at all costs.
  put(boxes, needed = false) {
    const [best] = this.settle([{ spots: this.rank(boxes), needed }]);
    return boxes.indexOf(best);
  }

  // rank gives boxes the price of their place, and has the cheapest first. A line costs what
  // cost says; boxes that stand at a marker of their own may lie over lines (over).
  rank(boxes, cost, most) {
    for (const b of boxes) b.place = this.price(b, cost, most);
    return boxes.filter((b) => !(b.place >= most)).sort((a, b) => a.place - b.place);
  }

  price(b, cost = () => 20, most = Infinity) {
    let sum = b.price || 0;
    if (b.x < 2 || b.y < 2 || b.x + b.w > this.w - 2 || b.y + b.h > this.h - 2) sum += 400;
    for (const s of this.signs) {
      if (over(s, b)) sum += 150;
      if (b.lead && crosses(b.lead, s)) sum += 40;
    }
    if (b.over || sum >= most) return sum;
    const wide = { x: b.x - this.half, y: b.y - this.half, w: b.w + 2 * this.half, h: b.h + 2 * this.half };
    for (const l of this.lines) {
      const dear = cost(l);
      if (crosses(l, wide)) sum += dear;
      if (b.lead && dear > 10 && crosses(b.lead, around(l))) sum += dear / 5;
      if (sum >= most) return sum;
    }
    return sum;
  }

  // settle takes for each label, which has ranked spots, the best that the others leave; what
  // stands first chooses first. It returns the spots, undefined for what has none.
  settle(labels) {
    const held = labels.map(() => undefined);
    const rounds = labels.length > 1 ? ROUNDS : 1;
    for (let round = 0; round < rounds; round++) labels.forEach(({ spots, needed }, k) => {
      const others = [...this.taken, ...held.filter((b, i) => b && i !== k)];
      const leads = held.filter((b, i) => b?.lead && i !== k).map((b) => b.lead);
      let best, least = needed ? Infinity : DEAR;
      for (const b of spots) {
        if (b.place >= least) break;
        let sum = b.place;
        for (const t of others) {
          if (over(t, b)) sum += 200;
          if (b.lead && crosses(b.lead, t)) sum += 60;
        }
        for (const l of leads) if (crosses(l, b)) sum += 60;
        if (sum < least) [best, least] = [b, sum];
      }
      held[k] = best;
    });
    for (const b of held) if (b) this.take(b);
    return held;
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

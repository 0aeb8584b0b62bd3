/* The figures behind the time line: the whole log in as many spans as a screen has columns, and the stretch that is
 * looked at as finely. What is here is drawn at once; the finer comes when the hand rests. */

const SPANS = 3000; // over three widths of the view
const RESTS = 70; // [ms]

/** One answer of the workshop: times and, for each line, lowest and highest. As `jobs/roadlogs/time_line.py` packs it. */
export const unpacked = (buffer, from, lines) => {
  const all = new Float32Array(buffer);
  const count = all[0];
  const part = (place) => all.subarray(1 + place * count, 1 + (place + 1) * count);
  const range = (first) => Array.from({ length: lines }, (_, line) => part(first + line));
  return { from, count, at: part(0), low: range(1), high: range(1 + lines) };
};

export class Windows {
  constructor({ url, duration, lines }, onNews) {
    this.url = url;
    this.duration = duration;
    this.lines = lines.length;
    this.onNews = onNews;
    this.whole = null;
    this.near = null;
    this.timer = 0;
    this.asked = 0;
  }

  async fetch(from, to) {
    const query = new URLSearchParams({ from: from.toFixed(3), to: to.toFixed(3), most: String(SPANS) });
    const answer = await fetch(`${this.url}?${query}`, { headers: { Accept: "application/octet-stream" } });
    if (!answer.ok) throw new Error(String(answer.status));
    return unpacked(await answer.arrayBuffer(), Number(from.toFixed(3)), this.lines);
  }

  async open() {
    this.whole = { ...(await this.fetch(0, this.duration)), begins: 0, ends: this.duration };
  }

  /** What to draw of a view now; the rest is asked for once the view rests. */
  best(view) {
    const { near } = this;
    const holds = near && near.begins <= view.from + 1e-3 && near.ends >= view.to - 1e-3;
    const isFine = holds && near.ends - near.begins <= (view.to - view.from) * 8 + 1e-3;
    const isWhole = view.to - view.from >= this.duration - 1e-3;
    if (!isFine && !isWhole) this.ask(view);
    return holds ? near : this.whole;
  }

  ask(view) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.load(view), RESTS);
  }

  async load({ from, to }) {
    const length = to - from;
    const begins = Math.max(0, from - length);
    const ends = Math.min(this.duration, to + length);
    this.asked += 1;
    const mine = this.asked;
    try {
      const window = await this.fetch(begins, ends);
      if (mine !== this.asked) return;
      this.near = { ...window, begins, ends };
      this.onNews();
    } catch {
      // Without the network the coarser line stays.
    }
  }
}

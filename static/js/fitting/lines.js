/* Shows in the list what stands: each line's sign, value, words and who; the counts of its sections. */

import { element, mark, plural, state } from "./dom.js";

const slot = (line, name) => line.querySelector(`[data-slot="${name}"]`);

const photographOf = (photograph, urls) => {
  if (photograph.blob) urls.set(photograph.id, urls.get(photograph.id) ?? URL.createObjectURL(photograph.blob));
  const address = photograph.url ?? urls.get(photograph.id);
  const image = element("img", { src: photograph.small ?? address, alt: photograph.words, loading: "lazy", width: "72", height: "72" });
  return element("a", { href: address }, image);
};

const unsentWords = (row) => {
  const words = [];
  if (row.unsent) words.push(element("span", { class: "line-unsent" }, mark("caution"), "not sent yet"));
  if (row.refused) words.push(element("span", { class: "line-unsent tone-stop" }, mark("stop"), "refused, see above"));
  if (row.setAside) words.push(element("span", { class: "line-unsent tone-stop" }, mark("stop"), "set aside, see above"));
  return words;
};

/* What was measured beside the car's record, where they differ. */
export const recordLine = (record) => {
  if (!record?.differs) return [];
  const measured = element("strong", {}, record.measured);
  if (record.recorded === null) {
    return [element("p", {}, mark("caution"), ` Not in the car’s record yet: ${record.label}. Measured: `, measured, ".")];
  }
  return [element("p", {}, mark("stop"), " Measured: ", measured, ". Car’s record: ", element("strong", {}, record.text), ".")];
};

export class Lines {
  constructor(root, items, { onTick, onOpen, onHistory, mayRecord }) {
    this.root = root;
    this.items = items;
    this.shown = new Map();
    this.urls = new Map();
    for (const item of items) this.makeLive(this.lineOf(item.key), item, { onTick, onOpen, onHistory, mayRecord });
  }

  lineOf(key) {
    return this.root.querySelector(`[data-key="${CSS.escape(key)}"]`);
  }

  makeLive(line, item, { onTick, onOpen, onHistory, mayRecord }) {
    line.querySelector("[data-without-script]")?.remove();
    line.querySelector("[data-history]").addEventListener("click", (event) => {
      event.preventDefault();
      onHistory(item);
    });
    if (!mayRecord) return;
    line.querySelector("[data-open]").addEventListener("click", (event) => {
      event.preventDefault();
      onOpen(item);
    });
    const tick = element("button", { type: "button" });
    tick.addEventListener("click", () => onTick(item));
    slot(line, "tick").replaceChildren(tick);
  }

  show(rows) {
    for (const item of this.items) {
      const row = rows.get(item.key);
      const seen = JSON.stringify([row, row.hold?.key, row.photographs.map((photograph) => photograph.id)]);
      if (this.shown.get(item.key) === seen) continue;
      this.shown.set(item.key, seen);
      this.showLine(this.lineOf(item.key), item, row);
    }
    this.showCounts(rows);
  }

  showLine(line, item, row) {
    line.classList.toggle("is-held", row.hold !== null);
    const tick = slot(line, "tick");
    const button = tick.querySelector("button");
    (button ?? tick).replaceChildren(mark(row.mark));
    (button ?? tick).className = `tone-${row.mark}${button ? "" : " line-tick"}`;
    if (button) {
      button.disabled = row.hold !== null && row.open;
      button.setAttribute("aria-label", this.tickLabel(item, row));
    }
    slot(line, "value").textContent = row.conflict ? "" : row.value;
    for (const name of ["unit", "detail", "limits"]) {
      const place = slot(line, name);
      if (place) place.textContent = name === "limits" ? row.limits || item.limits : (row[name] ?? "");
    }
    slot(line, "state").replaceChildren(state(row.mark, row.words));
    slot(line, "waits").textContent = row.waitsForSecond ? "second check needed" : "";
    slot(line, "who").replaceChildren(row.who, ...unsentWords(row).flatMap((words) => [" ", words]));
    slot(line, "second").textContent = row.second;
    slot(line, "note").textContent = row.note ? `‘${row.note}’` : "";
    line.querySelector("[data-history]").hidden = row.history.length === 0;
    const found = slot(line, "found");
    if (found && row.found) found.textContent = row.found.text;
    slot(line, "record").replaceChildren(...recordLine(row.record));
    slot(line, "inspected").textContent = row.inspected && row.open ? `Inspection: ${row.inspected.said || "done"}, ${row.inspected.who}` : "";
    slot(line, "photographs").replaceChildren(...row.photographs.map((photograph) => photographOf(photograph, this.urls)));
    slot(line, "conflict").replaceChildren(...(row.conflict ? row.standing.map((entry) => this.standingLine(item, entry)) : []));
  }

  tickLabel(item, row) {
    if (row.hold) return `${item.text}: waiting for the hold point ‘${row.hold.text}’`;
    if (item.kind === "tick" && row.open) return `Tick: ${item.text}`;
    return `Open: ${item.text}`;
  }

  standingLine(item, entry) {
    const detail = entry.detail ? ` (${entry.detail})` : "";
    const value = entry.value ? `${`${entry.value} ${entry.unit}`.trim()}${detail}, ` : "";
    return element("li", {}, mark(entry.mark), ` ${value}${entry.words}: ${entry.who}`);
  }

  showCounts(rows) {
    const sections = new Map();
    for (const item of this.items) {
      const count = sections.get(item.section) ?? { done: 0, total: 0, out: 0 };
      const row = rows.get(item.key);
      count.total += 1;
      if (row.done) count.done += 1;
      if (row.mark === "stop") count.out += 1;
      sections.set(item.section, count);
    }
    for (const place of this.root.querySelectorAll("[data-section-count]")) {
      const link = place.closest("[data-section-link]");
      const count = sections.get(link?.dataset.sectionLink ?? place.dataset.sectionCount);
      if (!count) continue;
      const out = count.out ? `, ${plural(count.out, "fail", "fail")}` : "";
      place.textContent = `${count.done} of ${count.total}${out}`;
      link?.classList.toggle("is-done", count.done === count.total);
    }
  }

  inHand(key) {
    for (const line of this.root.querySelectorAll(".is-in-hand")) line.classList.remove("is-in-hand");
    if (key) this.lineOf(key).classList.add("is-in-hand");
  }

  scrollTo(key) {
    this.lineOf(key).scrollIntoView({ block: "start", behavior: "smooth" });
  }
}

/*
 * The lines of the section that stands open: each with its sign, value, words and who. A line of a section that was not
 * opened yet is as the page brought it, short; it is written in full once it is looked at, or once it changes.
 */

import { element, mark } from "./dom.js";

const photographOf = (photograph, urls) => {
  if (photograph.blob) urls.set(photograph.id, urls.get(photograph.id) ?? URL.createObjectURL(photograph.blob));
  const address = photograph.url ?? urls.get(photograph.id);
  const image = element("img", { src: photograph.small ?? address, alt: photograph.words, loading: "lazy", width: "72", height: "72" });
  return element("a", { href: address }, image);
};

const unsentWords = (row) => [
  row.unsent > 0 && element("span", { class: "line-unsent" }, mark("caution"), "not sent yet"),
  row.refused > 0 && element("span", { class: "line-unsent tone-stop" }, mark("stop"), "refused, see above"),
  row.setAside > 0 && element("span", { class: "line-unsent tone-stop" }, mark("stop"), "set aside, see above"),
];

/* What was measured beside the car's record, where they differ. */
export const recordLine = (record) => {
  if (!record?.differs) return [];
  const measured = element("strong", {}, record.measured);
  if (record.recorded === null) {
    return [element("p", {}, mark("caution"), ` Not in the car’s record yet: ${record.label}. Measured: `, measured, ".")];
  }
  return [element("p", {}, mark("stop"), " Measured: ", measured, ". Car’s record: ", element("strong", {}, record.text), ".")];
};

const standingLine = (entry) => {
  const detail = entry.detail ? ` (${entry.detail})` : "";
  const value = entry.value ? `${`${entry.value} ${entry.unit}`.trim()}${detail}, ` : "";
  return element("li", {}, mark(entry.mark), ` ${value}${entry.words}: ${entry.who}`);
};

const foundLine = ({ text, url, link }) =>
  element("p", { class: "line-found" }, element("span", {}, text), " ", url && element("a", { href: url }, link));

const tickLabel = (item, row) => {
  if (row.hold) return `${item.text}: waiting for the hold point ‘${row.hold.text}’`;
  if (item.kind === "tick" && row.open) return `Tick: ${item.text}`;
  return `Open: ${item.text}`;
};

const someOf = (name, properties, children) => {
  const some = children.filter(Boolean);
  return some.length > 0 && element(name, properties, ...some);
};

export class Lines {
  /* `actions`: onTick(item), onOpen(item), onHistory(item) */
  constructor(root, items, { mayRecord, ...actions }) {
    this.root = root;
    this.items = items;
    this.mayRecord = mayRecord;
    this.rows = new Map();
    this.written = new Set();
    this.urls = new Map();
    this.places = new Map([...root.querySelectorAll("[data-key]")].map((line) => [line.dataset.key, line]));
    root.querySelector(".sheet-list").addEventListener("click", (event) => this.clicked(event, actions));
  }

  clicked(event, { onTick, onOpen, onHistory }) {
    const key = event.target.closest("[data-key]")?.dataset.key;
    const item = this.items.find((one) => one.key === key);
    if (!item) return;
    if (event.target.closest("[data-history]")) {
      event.preventDefault();
      onHistory(item);
    } else if (!this.mayRecord) return;
    else if (event.target.closest("[data-open]")) {
      event.preventDefault();
      onOpen(item);
    } else if (event.target.closest(".line-tick button")) onTick(item);
  }

  /* What the page itself shows: nothing of it has to be written before it changes. */
  begin(rows) {
    this.rows = rows;
  }

  show(rows) {
    const before = this.rows;
    this.rows = rows;
    for (const [key, row] of rows) {
      if (row !== before.get(key) && !isSame(row, before.get(key))) this.write(key);
    }
  }

  /* The lines of `section` in full. */
  writeSection(section) {
    for (const { key, section: its } of this.items) if (its === section && !this.written.has(key)) this.write(key);
  }

  write(key) {
    const line = this.places.get(key);
    const item = this.items.find((one) => one.key === key);
    const row = this.rows.get(key);
    const hadFocus = line.querySelector(".line-tick button") === document.activeElement;
    this.written.add(key);
    line.classList.toggle("is-held", row.hold !== null);
    line.replaceChildren(
      ...[
        item.holdPoint && element("p", { class: "hold-flag" }, mark("hold"), " Stop here until this passes"),
        element("div", { class: "line-row" }, this.tick(item, row), this.words(item, row, line), this.result(item, row)),
      ].filter(Boolean),
    );
    if (hadFocus) line.querySelector(".line-tick button")?.focus({ preventScroll: true });
  }

  tick(item, row) {
    if (!this.mayRecord) return element("div", { class: "line-tick" }, mark(row.mark));
    return element(
      "div",
      { class: "line-tick" },
      element("button", { type: "button", class: `tone-${row.mark}`, disabled: row.hold !== null && row.open, "aria-label": tickLabel(item, row) }, mark(row.mark)),
    );
  }

  words(item, row, line) {
    const url = line.querySelector("[data-open]").getAttribute("href");
    const history = row.history.length > 0 && element("a", { href: `${url}#history`, data: { history: "" } }, "history", element("span", { class: "visually-hidden" }, ` of ${item.text}`));
    const said = [row.who, row.second, row.note && `‘${row.note}’`].filter(Boolean).map((words) => element("span", {}, words));
    const inspected = row.inspected && row.open && `Inspection: ${row.inspected.said || "done"}, ${row.inspected.who}`;
    return element(
      "div",
      { class: "line-words" },
      ...[
        element("p", { class: "line-text" }, element("span", { class: "line-number" }, String(item.number)), element("a", { href: url, data: { open: "" } }, item.text)),
        someOf("p", { class: "line-hints" }, (item.hints ?? []).map((words) => element("span", {}, words))),
        item.caution && element("p", { class: "line-caution" }, mark("caution"), element("span", {}, item.caution)),
        someOf("p", { class: "line-meta" }, [...said, ...unsentWords(row), history]),
        someOf("div", { class: "line-photographs" }, row.photographs.map((photograph) => photographOf(photograph, this.urls))),
        row.found && foundLine(row.found),
        inspected && element("p", { class: "small muted" }, inspected),
        someOf("div", { class: "line-record" }, recordLine(row.record)),
        row.conflict && element("ul", { class: "line-conflict" }, ...row.standing.map(standingLine)),
      ].filter(Boolean),
    );
  }

  result(item, row) {
    const value = row.conflict ? "" : row.value;
    const limits = row.limits || item.limits;
    return element(
      "div",
      { class: "line-result" },
      ...[
        (value || row.unit) && element("p", { class: "line-value" }, element("span", { data: { slot: "value" } }, value), " ", element("span", { class: "unit" }, row.unit)),
        !row.conflict && row.detail && element("p", { class: "small" }, row.detail),
        element("p", { class: `line-state tone-${row.mark}` }, row.words),
        row.waitsForSecond && element("p", { class: "small muted" }, "second check needed"),
        limits && element("p", { class: "small muted line-limits" }, limits),
      ].filter(Boolean),
    );
  }

  inHand(key) {
    for (const line of this.root.querySelectorAll(".is-in-hand")) line.classList.remove("is-in-hand");
    if (key) this.places.get(key).classList.add("is-in-hand");
  }

  scrollTo(key) {
    this.places.get(key).scrollIntoView({ block: "nearest" });
  }
}

const seen = (row) => row && JSON.stringify([row, row.hold?.key, row.photographs.map((photograph) => photograph.id)]);

const isSame = (row, before) => seen(row) === seen(before);

/*
 * The controls of an item that is typed: its figure, the one read beside it, the unit, the verdict as one types, the pad;
 * or its words. Others of its section that are typed stand under it, and one saving takes them all.
 */

import { figure as parsed } from "../figures.js";
import { element, fill, mark, state } from "./dom.js";
import { judge } from "./judging.js";
import { detailText, unitOf } from "./measure.js";
import { numberPad } from "./number-pad.js";
import { whyNoFigure } from "./refused-figure.js";
import { Words } from "./words-box.js";

/* The figure that was typed; null while it is none. */
const figureFrom = (typed) => {
  const measure = parsed(typed);
  return Number.isNaN(measure) ? null : measure;
};

const mayBeNegative = ({ low, high }) => (low === null ? high === null || high < 0 : low < 0);

const figureBox = (words, verdict, data) =>
  element("input", {
    type: "text", inputmode: "none", autocomplete: "off", enterkeyhint: "done", "aria-label": words,
    "aria-describedby": verdict, maxlength: "12", data,
  }); // prettier-ignore

const gaugeOf = ({ units }) => units.map(({ unit }) => unit).sort().join(" ");

/* Which unit the gauge has: what was chosen last on this page for such a gauge, or else the person's own. */
const unitChoice = (item, unit, words) => {
  if (item.units.length < 2) return null;
  const options = item.units.map((one) => element("option", { value: one.unit, selected: one.unit === unit }, one.unit));
  return element("select", { class: "dock-unit", "aria-label": words }, ...options);
};

/* The boxes for one figure and for what is read beside it, with the verdict on what was typed so far. */
class Figure {
  constructor(dock, { item, row }, isInHand) {
    this.dock = dock;
    this.item = item;
    this.row = row;
    this.isInHand = isInHand;
    this.unit = dock.unitsChosen.get(gaugeOf(item)) ?? item.unit;
    const verdict = isInHand ? "dock-verdict" : `dock-verdict-${item.key}`;
    this.figure = figureBox(`${item.text}${item.units.length > 1 ? "" : `, in ${item.unit}`}`, verdict, isInHand ? { first: "" } : {});
    this.beside = item.beside ? figureBox(`${item.beside.label}, in ${item.beside.unit}`, verdict, {}) : null;
    this.boxes = this.beside ? [this.figure, this.beside] : [this.figure];
    this.units = unitChoice(item, this.unit, isInHand ? "Unit" : `Unit, ${item.text}`);
    this.verdict = element("p", { class: "dock-verdict", id: verdict, role: "status" });
    this.units?.addEventListener("change", () => {
      this.unit = this.units.value;
      dock.unitsChosen.set(gaugeOf(item), this.unit);
      this.say();
      this.figure.focus();
    });
    for (const box of this.boxes) box.addEventListener("input", () => this.say());
    this.say();
  }

  get isEmpty() {
    return this.boxes.every(({ value }) => !value);
  }

  get isShut() {
    return this.figure.disabled;
  }

  get isNegative() {
    return mayBeNegative(this.item) || Boolean(this.beside && this.item.beside.low < 0);
  }

  /* What is typed so far; nothing where it is no whole measure yet. */
  read() {
    const [measure, second] = this.boxes.map(({ value }) => figureFrom(value));
    if (measure === null || second === null) return null;
    return { outcome: "done", measure, unit: this.unit, ...(this.beside && { beside: second }) };
  }

  say() {
    const { dock, item } = this;
    dock.problem.textContent = "";
    const entry = this.read();
    const judged = entry && judge(item, entry);
    const known = (this.isInHand ? dock.row : this.row).record?.text;
    const limits = unitOf(item, this.unit).limits || (known ? `car’s record: ${known}` : "no limits");
    const detail = entry && detailText(item, entry);
    fill(this.verdict, judged && state(judged.mark, judged.words), detail && element("span", {}, detail), element("span", { class: "muted" }, limits));
  }

  /* Whether work may go on past what was typed, if this is a hold point. */
  get lets() {
    const entry = this.read();
    return !this.item.holdPoint || Boolean(entry && judge(this.item, entry, this.row.record).holds);
  }

  shut(isShut) {
    for (const control of [...this.boxes, this.units]) if (control) control.disabled = isShut;
  }

  /* The box that keeps this from being saved says why. */
  refuse() {
    const { dock, item, beside } = this;
    const wrong = this.boxes.find(({ value }) => figureFrom(value) === null);
    const asked = wrong === beside ? `the ${item.beside.label.toLowerCase()} in ${item.beside.unit}` : `the figure in ${this.unit}`;
    dock.problem.textContent = wrong.value ? whyNoFigure(wrong.value) : `Enter ${asked}.`;
    return wrong.focus();
  }

  parts() {
    const { item, isInHand } = this;
    const parts = [
      element("label", { class: "dock-figure" }, this.figure, this.units ?? element("span", { class: "unit" }, item.unit)),
      this.beside &&
        element("label", { class: "dock-figure dock-beside" }, element("span", {}, item.beside.label), this.beside, element("span", { class: "unit" }, item.beside.unit)),
      this.verdict,
    ].filter(Boolean);
    if (isInHand) return parts;
    const said = [
      item.holdPoint && element("p", { class: "hold-flag" }, mark("hold"), " Stop here until this passes"),
      element("p", {}, item.text),
      item.caution && element("p", { class: "line-caution" }, mark("caution"), element("span", {}, item.caution)),
    ];
    return [element("div", { class: "dock-also", data: { also: item.key } }, ...said.filter(Boolean), ...parts)];
  }
}

const typedOf = (dock, { item, row }, isInHand) =>
  item.kind === "text" ? new Words(dock, { item, row }, isInHand) : new Figure(dock, { item, row }, isInHand);

/* What is typed for the item in hand and, under it, for others of its section: whatever was typed is saved at once. */
export const typedControls = (dock, others) => {
  const all = [typedOf(dock, dock, true), ...others.map((other) => typedOf(dock, other, false))];
  const boxes = all.flatMap((one) => one.boxes);
  let inHand = boxes[0];
  // What stands behind a hold point is typed once that passes: the rule of the list, before anything is saved.
  const shutBehindHolds = () => {
    let isShut = false;
    for (const one of all) {
      one.shut(isShut);
      isShut ||= !one.lets;
    }
  };
  const store = () => {
    const typed = all.filter((one) => !one.isEmpty && !one.isShut);
    const unread = typed.find((one) => !one.read());
    if (unread || !typed.length) return (unread ?? all[0]).refuse();
    return dock.enterAll(typed.map((one) => ({ item: one.item, row: one.isInHand ? dock.row : one.row, body: one.read() })));
  };
  for (const box of boxes) {
    box.addEventListener("focus", () => (inHand = box));
    box.addEventListener("input", shutBehindHolds);
    box.addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      const next = boxes[boxes.indexOf(box) + 1];
      if (next && !next.value && !next.disabled) next.focus();
      else store();
    });
  }
  shutBehindHolds();
  const stored = dock.primary("Save", store);
  delete stored.dataset.first;
  const figures = all.filter((one) => one instanceof Figure);
  const pad = figures.length ? [numberPad(() => inHand, { negative: figures.some((one) => one.isNegative) })] : [];
  // However many boxes there are, the keys stay under the thumb.
  return [...all.flatMap((one) => one.parts()), element("div", { class: "dock-keys" }, ...pad, stored)];
};

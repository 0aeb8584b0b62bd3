/* The controls of a measured item: its figure, the one read beside it, the unit, the verdict as one types, the pad. */

import { figure as parsed } from "../figures.js";
import { element, fill, state } from "./dom.js";
import { judge } from "./judging.js";
import { detailText, unitOf } from "./measure.js";
import { numberPad } from "./number-pad.js";
import { whyNoFigure } from "./refused-figure.js";

/* The figure that was typed; null while it is none. */
const figureFrom = (typed) => {
  const measure = parsed(typed);
  return Number.isNaN(measure) ? null : measure;
};

const mayBeNegative = ({ low, high }) => (low === null ? high === null || high < 0 : low < 0);

const figureBox = (words, data) =>
  element("input", {
    type: "text", inputmode: "none", autocomplete: "off", enterkeyhint: "done", "aria-label": words,
    "aria-describedby": "dock-verdict", maxlength: "12", data,
  }); // prettier-ignore

const gaugeOf = ({ units }) => units.map(({ unit }) => unit).sort().join(" ");

/* Which unit the gauge has: what was chosen last on this page for such a gauge, or else the person's own. */
const unitChoice = (dock) => {
  const { item } = dock;
  dock.unit = dock.unitsChosen.get(gaugeOf(item)) ?? item.unit;
  if (item.units.length < 2) return null;
  const options = item.units.map(({ unit }) => element("option", { value: unit, selected: unit === dock.unit }, unit));
  return element("select", { class: "dock-unit", "aria-label": "Unit" }, ...options);
};

export const measureControls = (dock) => {
  const { item } = dock;
  const figure = figureBox(`${item.text}${item.units.length > 1 ? "" : `, in ${item.unit}`}`, { first: "" });
  const beside = item.beside && figureBox(`${item.beside.label}, in ${item.beside.unit}`, {});
  const boxes = beside ? [figure, beside] : [figure];
  let inHand = figure;
  const units = unitChoice(dock);
  const verdict = element("p", { class: "dock-verdict", id: "dock-verdict", role: "status" });
  // What is typed so far; nothing where it is no whole measure yet.
  const read = () => {
    const [measure, second] = boxes.map(({ value }) => figureFrom(value));
    if (measure === null || second === null) return null;
    return { outcome: "done", measure, unit: dock.unit, ...(beside && { beside: second }) };
  };
  const say = () => {
    dock.problem.textContent = "";
    const entry = read();
    const judged = entry && judge(item, entry);
    const known = dock.row.record?.text;
    const limits = unitOf(item, dock.unit).limits || (known ? `car’s record: ${known}` : "no limits");
    const detail = entry && detailText(item, entry);
    fill(verdict, judged && state(judged.mark, judged.words), detail && element("span", {}, detail), element("span", { class: "muted" }, limits));
  };
  const store = () => {
    const entry = read();
    if (entry) return dock.enter(entry);
    const wrong = boxes.find(({ value }) => figureFrom(value) === null);
    const asked = wrong === beside ? `the ${item.beside.label.toLowerCase()} in ${item.beside.unit}` : `the figure in ${dock.unit}`;
    dock.problem.textContent = wrong.value ? whyNoFigure(wrong.value) : `Enter ${asked}.`;
    return wrong.focus();
  };
  for (const box of boxes) {
    box.addEventListener("input", say);
    box.addEventListener("focus", () => (inHand = box));
    box.addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      if (beside && box === figure && !beside.value) beside.focus();
      else store();
    });
  }
  units?.addEventListener("change", () => {
    dock.unit = units.value;
    dock.unitsChosen.set(gaugeOf(item), units.value);
    say();
    figure.focus();
  });
  say();
  const stored = dock.primary("Save", store);
  delete stored.dataset.first;
  const negative = mayBeNegative(item) || (beside && item.beside.low < 0);
  return [
    element("label", { class: "dock-figure" }, figure, units ?? element("span", { class: "unit" }, item.unit)),
    beside && element("label", { class: "dock-figure dock-beside" }, element("span", {}, item.beside.label), beside, element("span", { class: "unit" }, item.beside.unit)),
    verdict,
    numberPad(() => inHand, { negative }),
    stored,
  ].filter(Boolean);
};

/*
 * What one saving answers at once: the figures and words of a section, each in its own box; its plain looks, and what its
 * inspection found, each by its name. No hold point by a look, nothing that was answered already, nothing that is not on
 * the screen.
 */

import { button, element } from "./dom.js";

const MOST_BOXES = 7; // beside the one in hand: about as many as a tablet on end shows above its keys

/* Nobody has said anything of it yet, and nothing is in its way. */
const isUntouched = (row) => row.open && !row.hold && !row.inspected && !row.heads.length && !row.unsent;

const isTyped = ({ kind }) => kind === "measure" || kind === "text";

const canBeTyped = (item, row, run) =>
  isTyped(item) && row.open && !row.inspected && !row.heads.length && !row.unsent && (!row.hold || run.includes(row.hold));

/*
 * What of the section after `item` can be typed under it, with its rows. Behind a hold point only what is of the same run:
 * its boxes stay shut until what was typed for the hold point passes. Behind a second check there is none.
 */
export const typedWith = (items, rows, item) => {
  const others = [];
  const run = [item]; // what is typed so far: a hold point among it is answered before what it holds
  if (!isTyped(item) || item.secondPerson) return others;
  for (const other of items.slice(items.indexOf(item) + 1)) {
    const row = rows.get(other.key);
    if (other.section !== item.section || others.length === MOST_BOXES) break;
    if (canBeTyped(other, row, run)) {
      others.push({ item: other, row });
      run.push(other);
    }
    if (!row.holds && other.holdPoint && (!isTyped(other) || other.secondPerson)) break;
  }
  return others;
};

const isLook = ({ item, row }) => typeof item.look === "string" && isUntouched(row);

/* What the inspection answered and nobody has answered here: whatever protects somebody is confirmed by itself. */
const isFound = ({ item, row }) =>
  row.inspected && row.open && !row.hold && !row.heads.length && !row.unsent && !item.holdPoint && !item.secondPerson && !item.caution;

/* `item` and the others of its section that one look answers; nothing where there is only one. */
export const looksWith = (items, rows, item) => {
  const ofSection = items.filter(({ section }) => section === item.section).map((one) => ({ item: one, row: rows.get(one.key) }));
  const looks = ofSection.filter((one) => isLook(one) || isFound(one));
  return looks.length > 1 && looks.some((one) => one.item === item) ? looks : [];
};

/* An answer of the inspection as an entry of this sheet. */
export const asFound = ({ id, measure, unit, beside, choice, text }) => {
  const figure = measure === null ? {} : { measure, unit, ...(beside !== null && { beside }) };
  return { outcome: "done", ...figure, choice, text, confirms: id };
};

const named = ({ item, row }) => {
  const said = row.inspected ? `${row.inspected.said || "done"}, still so` : item.look;
  return element("li", {}, said ? `${item.text}: ${said}` : item.text);
};

const answered = ({ item, row }, together) => {
  const body = row.inspected ? asFound(row.inspected) : { outcome: "done", choice: item.look };
  return { item, row, body: { ...body, together, note: "" } };
};

/* All of `looks` by their names, and the one button for them. */
export const waysToAnswer = (looks, answer) => {
  const words = looks.every(({ row }) => row.inspected) ? `Confirm all ${looks.length}: still so` : `All ${looks.length} in order`;
  return [
    element("p", {}, "Looked at in one go:"),
    element("ul", {}, ...looks.map(named)),
    button(words, () => answer(looks.map((look) => answered(look, looks.length)))),
  ];
};

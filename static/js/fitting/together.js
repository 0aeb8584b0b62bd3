/*
 * What one saving answers at once: the figures and words of a section, each in its own box; its plain looks, and what its
 * inspection found, each by its name. No hold point by a look, nothing that was answered already, nothing that is not on
 * the screen.
 */

import { button, element } from "./dom.js";

const MOST_BOXES = 7; // beside the one in hand: about as many as a tablet on end shows above its keys

/* Nobody has said anything of it yet, and nothing is in its way. */
const isUntouched = (row) => row.open && !row.hold && !row.inspected && !row.heads.length && !row.unsent;

const othersOf = (items, rows, item) =>
  items
    .filter((other) => other.section === item.section && other !== item && !other.holdPoint)
    .map((other) => ({ item: other, row: rows.get(other.key) }))
    .filter(({ row }) => isUntouched(row));

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

const isLook = (item) => typeof item.look === "string";

/* `item` and the other plain looks of its section that are to do; nothing where there is only one. */
export const looksWith = (items, rows, item) => {
  if (!isLook(item) || !isUntouched(rows.get(item.key))) return [];
  const others = othersOf(items, rows, item).filter(({ item: other }) => isLook(other));
  return others.length ? [{ item, row: rows.get(item.key) }, ...others] : [];
};

/* What the inspection answered and nobody has answered here: whatever protects somebody is confirmed by itself. */
const isFound = ({ item, row }) =>
  row.inspected && row.open && !row.hold && !row.heads.length && !row.unsent && !item.holdPoint && !item.secondPerson && !item.caution;

/* `item` and the other answers of the inspection in its section; nothing where there is only one. */
export const foundWith = (items, rows, item) => {
  const found = items.filter(({ section }) => section === item.section).map((one) => ({ item: one, row: rows.get(one.key) })).filter(isFound);
  return found.length > 1 && found.some((one) => one.item === item) ? found : [];
};

const named = ({ text, look }) => element("li", {}, look ? `${text}: ${look}` : text);

/* All of `looks` by their names, and the one button for them. */
export const waysToAnswer = (looks, answer) => [
  element("p", {}, "Looked at in one go:"),
  element("ul", {}, ...looks.map(({ item }) => named(item))),
  button(`All ${looks.length} in order`, () =>
    answer(looks.map(({ item, row }) => ({ item, row, body: { outcome: "done", choice: item.look, together: looks.length, note: "" } }))),
  ),
];

/*
 * What one saving answers at once: the figures of a section, each in its own box, and its plain looks, each by its name.
 * No hold point by a look, nothing that was answered already, nothing that is not on the screen.
 */

import { button, element } from "./dom.js";

const MOST_FIGURES = 3; // beside the one in hand: more would push the keys off a small tablet

/* Nobody has said anything of it yet, and nothing is in its way. */
const isUntouched = (row) => row.open && !row.hold && !row.inspected && !row.heads.length && !row.unsent;

const othersOf = (items, rows, item) =>
  items
    .filter((other) => other.section === item.section && other !== item && !other.holdPoint)
    .map((other) => ({ item: other, row: rows.get(other.key) }))
    .filter(({ row }) => isUntouched(row));

const canBeTyped = ({ kind }, row, run) =>
  kind === "measure" && row.open && !row.inspected && !row.heads.length && !row.unsent && (!row.hold || run.includes(row.hold));

/*
 * The figures of the section after `item` that can be typed under it, with their rows. Behind a hold point only figures of
 * the same run: their boxes stay shut until what was typed for it passes. Behind a second check there is none.
 */
export const figuresWith = (items, rows, item) => {
  const others = [];
  const run = [item]; // the figures so far: a hold point among them is answered before what it holds
  if (item.kind !== "measure" || item.secondPerson) return others;
  for (const other of items.slice(items.indexOf(item) + 1)) {
    const row = rows.get(other.key);
    if (other.section !== item.section || others.length === MOST_FIGURES) break;
    if (canBeTyped(other, row, run)) {
      others.push({ item: other, row });
      run.push(other);
    }
    if (!row.holds && other.holdPoint && (other.kind !== "measure" || other.secondPerson)) break;
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

const named = ({ text, look }) => element("li", {}, look ? `${text}: ${look}` : text);

/* All of `looks` by their names, and the one button for them. */
export const waysToAnswer = (looks, answer) => [
  element("p", {}, "Looked at in one go:"),
  element("ul", {}, ...looks.map(({ item }) => named(item))),
  button(`All ${looks.length} in order`, () =>
    answer(looks.map(({ item, row }) => ({ item, row, body: { outcome: "done", choice: item.look, together: looks.length, note: "" } }))),
  ),
];

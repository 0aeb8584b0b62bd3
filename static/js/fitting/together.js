/*
 * What one saving answers at once: the figures of a section, each in its own box, and its plain looks, each by its name.
 * Never a hold point, never what was answered already, never what is not on the screen.
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

/* The other figures of the section of `item` that are to do as well, with their rows. */
export const figuresWith = (items, rows, item) =>
  item.kind === "measure" && !item.holdPoint
    ? othersOf(items, rows, item)
        .filter(({ item: other }) => other.kind === "measure")
        .slice(0, MOST_FIGURES)
    : [];

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

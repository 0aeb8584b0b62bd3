/* What a person is asked to decide about the item in hand before anything else: one button each way. */

import { button, element, mark } from "./dom.js";
import { recordLine } from "./lines.js";
import { secondCheck } from "./second-check.js";
import { hasFailed } from "./standing.js";
import { asFound } from "./together.js";

/* Whether the item waits for the second check of what this person entered, and the workshop computer has it. */
export const isOwnToCheck = ({ row, person }) => {
  const current = row.standing.at(-1);
  return row.waitsForSecond && Boolean(current) && current.byId === person.id && !row.unsent;
};

export const secondCheckFor = (dock, item, row) =>
  secondCheck(item, row.standing.at(-1), dock.page, () => dock.alone(() => dock.actions.seconded(item)));

const readingWay = ({ done, text, url, link }) => {
  const kind = done ? "button" : "button button-primary dock-primary";
  return [element("p", {}, text), ...(url ? [element("a", { class: kind, href: url }, link)] : [])];
};

const waysToSettle = (dock) => {
  const { item, row, actions } = dock;
  const words = row.record.recorded === null ? "Put it in the record" : "Correct the record";
  const current = row.standing.at(-1);
  return [
    dock.primary(words, () => dock.alone(() => actions.correct(item, row, current))),
    button("Measure again", () => dock.enter({ outcome: "withdrawn", note: "" })),
  ];
};

/* Whether the answer of the inspection is to be confirmed first; anew it is entered only when that is asked for. */
export const asksToConfirm = ({ row, anew }) => Boolean(row.inspected) && row.open && !row.hold && !anew;

/* The same was asked at the inspection: its answer holds still, or is given anew. */
const inspectedWay = (dock) => {
  const { said, who } = dock.row.inspected;
  const found = element("p", {}, "Inspection: ", element("strong", {}, said || "done"), `, ${who}`);
  if (!asksToConfirm(dock)) return [found];
  return [
    found,
    dock.primary("Confirm: still so", () => dock.enter(asFound(dock.row.inspected))),
    button(dock.item.kind === "measure" ? "Measure again" : "Enter again", () => dock.beginAnew()),
  ];
};

export const decisionFor = (dock) => {
  const { item, row } = dock;
  const asked = [];
  if (hasFailed(item, row)) {
    const why = row.record?.differs ? "" : `: ${row.words}`;
    asked.push(element("p", {}, mark("hold"), ` Blocks the rest${why}.`));
  }
  if (row.found) asked.push(...readingWay(row.found));
  if (row.hold) return asked;
  if (row.record?.differs) asked.push(...recordLine(row.record), ...waysToSettle(dock));
  else if (row.inspected && row.open) asked.push(...inspectedWay(dock));
  else if (isOwnToCheck(dock)) asked.push(secondCheckFor(dock, item, row));
  return asked;
};

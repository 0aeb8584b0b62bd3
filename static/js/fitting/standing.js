/*
 * What stands on the sheet: what the workshop computer last said, with the messages of this tablet's queue laid over it in their
 * order. The page shows this and nothing else, so that a reload without a network shows what was entered before it.
 */

import { asksAboutRecord } from "./car-fact.js";
import { undecided } from "./deciding.js";
import { judge, valueText } from "./judging.js";
import { moment } from "./dom.js";
import { canonicalOf, detailText, hasFigure, unitOf, unitText } from "./measure.js";
import { isApart } from "../queue/set-aside.js";

const isOpenOutcome = (outcome) => outcome === "noted";

const togetherWords = (count) => (count ? `, answered together, ${count} items` : "");

const entryOf = (item, message) => ({
  id: message.message === "photograph" ? message.body.entry : message.id,
  byId: message.maker,
  outcome: message.body.outcome ?? (item.kind === "photo" ? "done" : "noted"),
  measure: message.body.measure ?? null,
  unit: message.body.unit ?? "",
  beside: message.body.beside ?? null,
  choice: message.body.choice ?? "",
  text: message.body.text ?? "",
  note: message.body.note ?? "",
  who: `${message.makerName}, ${moment(message.madeAt)}${togetherWords(message.body.together)}`,
});

const withWords = (item, entry) => ({
  ...entry,
  ...judge(item, entry),
  value: valueText(item, entry),
  unit: unitText(item, entry),
  detail: detailText(item, entry),
});

const different = (item, entries) =>
  new Set(
    entries.map((entry) => JSON.stringify([entry.outcome, canonicalOf(item, entry), entry.beside, entry.choice, entry.text])),
  ).size > 1;

const verdictOn = (item, kept, conflict, record) => {
  if (!kept.length) return { mark: "open", words: "to do", holds: false };
  if (conflict) return { mark: "stop", words: `${kept.length} different entries: keep one`, holds: false };
  return judge(item, kept.at(-1), record);
};

/* The row of `item` worked out anew from what stands; the same rules as jobs/checklists/sheet.py: tests/cases/ticks.json. */
const workedOut = (item, row, standing, last) => {
  const answered = standing.filter((entry) => !isOpenOutcome(entry.outcome));
  const kept = answered.length ? answered : standing;
  // What the record answers is no hand's to change: only beside it something may be noted.
  const read = Boolean(row.found?.done);
  const conflict = !read && different(item, kept);
  const current = kept.at(-1);
  const open = !read && (!current || isOpenOutcome(current.outcome));
  const record = recordOf(item, row.record, conflict ? null : current);
  const verdict = read ? { mark: row.mark, words: row.words, holds: row.holds } : verdictOn(item, kept, conflict, record);
  const waitsForSecond = item.secondPerson && !open && !conflict && !row.second;
  const done = !open && !conflict && !waitsForSecond && !record?.differs;
  return {
    ...row,
    record,
    standing: kept.map((entry) => withWords(item, entry)),
    heads: kept.length ? kept.map((entry) => entry.id) : last ? [last] : [],
    conflict,
    open,
    done,
    waitsForSecond,
    holds: done && verdict.holds,
    mark: waitsForSecond && verdict.mark === "good" ? "caution" : verdict.mark,
    words: verdict.words,
    value: current && !conflict ? valueText(item, current) : "",
    unit: current ? unitText(item, current) : (item.units[0]?.unit ?? ""),
    detail: current && !conflict ? detailText(item, current) : "",
    limits: current && hasFigure(current) ? unitOf(item, current.unit).limits : "",
    who: read ? row.who : current ? current.who : "",
    note: current ? current.note : "",
  };
};

/* The car's record beside `current`, the entry that stands now. */
const recordOf = (item, record, current) =>
  record && {
    ...record,
    differs: Boolean(current) && asksAboutRecord(item, current, record),
    measured: current ? [valueText(item, current), hasFigure(current) ? unitText(item, current) : "", detailText(item, current)].filter(Boolean).join(" ") : "",
  };

const laidOver = (item, row, message) => {
  const known = new Set(row.history.map((past) => past.id));
  if (message.message === "confirmation") {
    if (row.second || !row.standing.some((entry) => entry.id === message.body.entry)) return row;
    return workedOut(item, { ...row, second: `second check: ${message.makerName}, ${moment(message.madeAt)}` }, row.standing);
  }
  if (message.message === "correction") {
    if (!row.standing.some((entry) => entry.id === message.body.entry)) return row;
    return workedOut(item, { ...row, record: { ...row.record, settled: message.body.entry } }, row.standing);
  }
  let next = row;
  const entry = entryOf(item, message);
  if (message.message === "photograph") {
    if (!row.photographs.some((photograph) => photograph.id === message.id)) {
      next = { ...next, photographs: [...next.photographs, { id: message.id, blob: message.photograph, words: "Photograph, not sent yet" }] };
    }
    // It belongs to an entry that is there already, on the workshop computer or further up in the queue.
    if (known.has(entry.id) || row.standing.some((standing) => standing.id === entry.id)) return next;
  }
  if (known.has(entry.id)) return next;
  const replaced = new Set(message.body.replaces ?? []);
  const left = row.standing.filter((standing) => !replaced.has(standing.id));
  // A new value has not been seen by anybody else yet.
  const past = next.history.map((one) => (replaced.has(one.id) ? { ...one, stands: false } : one));
  next = { ...next, second: "", history: [...past, pastOf(item, entry)] };
  return entry.outcome === "withdrawn"
    ? workedOut(item, next, left, entry.id)
    : workedOut(item, next, [...left, entry], entry.id);
};

const pastOf = (item, entry) => ({
  id: entry.id,
  ...(entry.outcome === "withdrawn" ? { mark: "open", words: "undone" } : judge(item, entry)),
  value: valueText(item, entry),
  unit: entry.measure === null ? "" : unitText(item, entry),
  detail: detailText(item, entry),
  by: entry.who,
  device: "",
  made: "",
  received: "",
  note: entry.note,
  second: "",
  stands: true,
  takenBack: entry.outcome === "withdrawn",
  unsent: true,
});

const emptyRow = (item) => ({
  key: item.key, found: null, record: null, inspected: null, mark: "open", words: "to do", value: "", unit: item.units[0]?.unit ?? "",
  detail: "", limits: "", who: "", note: "", open: true, later: false, done: false, holds: false, conflict: false, standing: [], heads: [],
  waitsForSecond: false, second: "", photographs: [], history: [],
}); // prettier-ignore

/* The row of `item` with `unsent`, `refused` and `setAside`: how many of its messages are not in the record. */
const rowOf = (item, row, hold, mine) => {
  const applied = mine.filter((message) => !isApart(message));
  return {
    ...applied.reduce((before, message) => laidOver(item, before, message), row ?? emptyRow(item)),
    hold,
    unsent: applied.filter((message) => message.state === "waiting").length,
    refused: mine.filter((message) => message.state === "refused").length,
    setAside: mine.filter((message) => message.state === "set aside").length,
  };
};

/*
 * Gives, again and again, the rows by key of what the workshop computer said with the messages of the queue laid over it.
 * A row for which nothing has changed is the very same object as before: nobody has to look at it again.
 */
export const standing = (items) => {
  const kept = new Map();
  return (base, messages) => {
    const rows = new Map();
    let hold = null;
    for (const item of items) {
      const mine = messages.filter((message) => message.item === item.key);
      const from = [base.rows[item.key], hold, ...mine.map(({ id, state }) => `${id} ${state}`)];
      const before = kept.get(item.key);
      const isSame = before?.from.length === from.length && before.from.every((one, place) => one === from[place]);
      const row = isSame ? before.row : rowOf(item, base.rows[item.key], hold, mine);
      if (!isSame) kept.set(item.key, { from, row });
      rows.set(item.key, row);
      if (item.holdPoint && hold === null && !row.holds) hold = item;
    }
    return rows;
  };
};

/* The same, once. */
export const standingRows = (items, base, messages) => standing(items)(base, messages);

/* Whether the hold point `item` was dealt with and keeps what comes after it. */
export const hasFailed = (item, row) => item.holdPoint && !row.open && !row.holds && !row.waitsForSecond;

/* The next item that waits for this person, from the one after `key` on and then from the top. */
export const nextOpen = (items, rows, key = null, person = null, skipped = new Set()) => {
  const place = items.findIndex((item) => item.key === key);
  const inOrder = [...items.slice(place + 1), ...items.slice(0, place + 1)];
  const waiting = undecided(items, rows);
  const wants = (item) => {
    const row = rows.get(item.key);
    if (row.done || row.hold || row.later || skipped.has(item.key) || waiting.has(item.key)) return false;
    // What a later stage reads is not waited for here.
    if (item.kind === "reading" && !item.required) return false;
    // Somebody else's word is wanted: no use in asking the one who gave the first.
    return !(row.waitsForSecond && row.standing.at(-1)?.byId === person);
  };
  return inOrder.find(wants) ?? null;
};

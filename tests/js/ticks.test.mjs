/* What entries say about a sheet while there is no network: the same table as tests/checklists/test_tick_cases.py. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { figureText, judgeFigure } from "../../static/js/fitting/judging.js";
import { nextOpen, standing, standingRows } from "../../static/js/fitting/standing.js";
import { casesOf } from "./cases.mjs";

const { says, figures, texts, sheets } = casesOf("ticks");

// An item as jobs/checklists/presentation.py hands it to the page.
const itemOf = (row) => {
  const { low = null, high = null } = row;
  return {
    key: row.key,
    kind: row.kind,
    text: row.key,
    unit: row.unit ?? "",
    units: [{ unit: row.unit ?? "", times: 1, over: 1, decimals: row.decimals ?? 1, limits: "" }],
    raised: 0,
    low,
    high,
    decimals: row.decimals ?? 1,
    goodChoices: row.good_choices ?? [],
    secondPerson: row.second_person ?? false,
    holdPoint: row.hold_point ?? false,
    inTolerance: low === null && high === null ? says.recorded : says.pass,
  };
};

const messageOf = ({ id, item, by = "first", confirms, ...body }) => ({
  id,
  item,
  message: confirms ? "confirmation" : "entry",
  maker: by,
  makerName: by,
  madeAt: "2026-11-28T09:00:00Z",
  state: "waiting",
  body: confirms ? { entry: confirms } : { outcome: "done", ...body },
});

const shown = (row) => ({
  ...row,
  says: Object.keys(says).find((name) => says[name] === row.words),
  standing: row.standing.map(({ id }) => id),
  hold: row.hold?.key ?? null,
});

for (const { measure, mark, says: verdict, holds, ...limits } of figures)
  test(`${measure} against ${JSON.stringify(limits)}: ${verdict}`, () => {
    const item = itemOf({ key: "it", kind: "measure", ...limits });
    assert.deepEqual(judgeFigure(item, measure), { mark, words: says[verdict], holds });
  });

for (const { measure, decimals, text } of texts)
  test(`${measure} with ${decimals} decimals is written ${text}`, () => {
    assert.equal(figureText(measure, decimals), text);
  });

for (const { name, items, messages, rows } of sheets)
  test(name, () => {
    const found = standingRows(items.map(itemOf), { rows: {} }, messages.map(messageOf));
    for (const [key, expected] of Object.entries(rows)) {
      const row = shown(found.get(key));
      assert.deepEqual(Object.fromEntries(Object.keys(expected).map((slot) => [slot, row[slot]])), expected, key);
    }
  });

test("a row for which nothing has changed is the very same one, and the one that was ticked is another", () => {
  const items = [itemOf({ key: "one", kind: "tick" }), itemOf({ key: "two", kind: "tick" })];
  const rowsOf = standing(items);
  const base = { rows: {} };
  const before = rowsOf(base, []);
  const after = rowsOf(base, [messageOf({ id: "a", item: "two" })]);
  assert.equal(after.get("one"), before.get("one"));
  assert.equal(before.get("two").open, true);
  assert.equal(after.get("two").done, true);
  assert.equal(rowsOf(base, [messageOf({ id: "a", item: "two" })]).get("two"), after.get("two"));
});

test("what comes later is not asked for, and is once the record has what it comes after", () => {
  const items = [itemOf({ key: "one", kind: "photo" })];
  const base = (later) => ({ rows: { one: { ...standingRows(items, { rows: {} }, []).get("one"), later } } });
  assert.equal(nextOpen(items, standingRows(items, base(true), [])), null);
  assert.equal(nextOpen(items, standingRows(items, base(false), [])).key, "one");
});

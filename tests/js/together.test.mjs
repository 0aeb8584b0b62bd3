/* What one tap or one saving of the sheet takes together, and which items wait for an answer. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { decides, undecided } from "../../static/js/fitting/deciding.js";
import { nextOpen } from "../../static/js/fitting/standing.js";
import { asFound, looksWith, typedWith } from "../../static/js/fitting/together.js";

const item = (key, more = {}) => ({ key, kind: "tick", section: "Wiring", text: key, look: null, caution: "", holdPoint: false, secondPerson: false, ...more });
const row = (more = {}) => ({ open: true, done: false, hold: null, holds: false, heads: [], standing: [], inspected: null, unsent: false, record: null, ...more });
const found = { id: "1", measure: null, unit: "", beside: null, choice: "sound", text: "", said: "sound", who: "Ines Marlow" };
const keysOf = (rows) => rows.map(({ item: { key } }) => key);
const rowsOf = (items, more = {}) => new Map(items.map(({ key }) => [key, row(more[key])]));

test("plain looks and what the inspection found are one look, and nothing else is", () => {
  const items = [item("fuse", { look: "" }), item("cap"), item("strap", { look: "" }), item("gap", { kind: "measure" })];
  const rows = rowsOf(items, { cap: { inspected: found } });
  assert.deepEqual(keysOf(looksWith(items, rows, items[0])), ["fuse", "cap", "strap"]);
  assert.deepEqual(looksWith(items, rows, items[3]), []);
});

test("what protects somebody is confirmed by itself", () => {
  for (const protects of [{ holdPoint: true }, { secondPerson: true }, { caution: "Rings off." }]) {
    const items = [item("fuse", { look: "" }), item("strap", { look: "" }), item("cap", protects)];
    assert.deepEqual(keysOf(looksWith(items, rowsOf(items, { cap: { inspected: found } }), items[0])), ["fuse", "strap"]);
  }
});

test("figures and words of a section are typed together, as far as a second check", () => {
  const items = [
    item("wires", { kind: "text" }),
    item("gap", { kind: "measure" }),
    item("lead", { kind: "text", secondPerson: true, holdPoint: true }),
    item("drop", { kind: "measure" }),
    item("other", { kind: "measure", section: "Coil" }),
  ];
  const rows = rowsOf(items, { drop: { hold: items[2] } });
  assert.deepEqual(keysOf(typedWith(items, rows, items[0])), ["gap", "lead"]);
});

test("an answer of the inspection is sent as it was read", () => {
  assert.deepEqual(asFound({ ...found, measure: 9.4, unit: "kohm", beside: 0.8, choice: "" }), {
    outcome: "done", measure: 9.4, unit: "kohm", beside: 0.8, choice: "", text: "", confirms: "1",
  }); // prettier-ignore
});

test("an item whose fact was just found waits for the workshop computer", () => {
  const post = item("post", { kind: "choice", fact: "earth_polarity" });
  const items = [post, item("case", { unknown: ["earth_polarity"] }), item("tied")];
  const unknown = { record: { recorded: null, how: "choice" } };
  const before = rowsOf(items, { post: unknown });
  assert.equal(decides(items, before, { item: post, body: { outcome: "done" } }), true);
  assert.equal(nextOpen(items, before).key, "post");
  const after = rowsOf(items, { post: { ...unknown, open: false, done: true } });
  assert.deepEqual([...undecided(items, after)], ["case"]);
  assert.equal(nextOpen(items, after).key, "tied");
});

test("a fact that the record knows decides nothing anew", () => {
  const post = item("post", { fact: "earth_polarity" });
  const items = [post, item("case", { unknown: ["system_volts"] })];
  const rows = rowsOf(items, { post: { record: { recorded: "negative" } } });
  assert.equal(decides(items, rows, { item: post, body: { outcome: "done" } }), false);
});

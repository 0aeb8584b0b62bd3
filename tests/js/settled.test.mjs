/* What the queue lays over a line that reads the record, and over one that differs from the car's. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { hasFailed, nextOpen, standingRows } from "../../static/js/fitting/standing.js";

const item = (key, more = {}) => ({
  key,
  kind: "tick",
  text: key,
  unit: "",
  units: [],
  raised: 0,
  low: null,
  high: null,
  goodChoices: [],
  required: true,
  secondPerson: false,
  holdPoint: false,
  inTolerance: "recorded",
  ...more,
});

const row = (more) => ({
  mark: "open",
  words: "to do",
  value: "",
  unit: "",
  detail: "",
  limits: "",
  who: "",
  note: "",
  open: true,
  done: false,
  holds: false,
  conflict: false,
  standing: [],
  heads: [],
  waitsForSecond: false,
  second: "",
  photographs: [],
  history: [],
  found: null,
  record: null,
  inspected: null,
  ...more,
});

const sent = (id, key, message, body) => ({
  id,
  item: key,
  message,
  maker: 1,
  makerName: "Ines",
  madeAt: "2026-11-28T09:00:00Z",
  state: "waiting",
  body,
});

const READ = { mark: "good", words: "recorded", open: false, done: true, holds: true, who: "Ines, 28 Nov, 09:00" };
const mark = item("mark", { kind: "reading", holdPoint: true });
const post = item("post", { kind: "choice", choices: ["negative", "positive"], holdPoint: true });
const RECORD = { how: "choice", values: { negative: "negative", positive: "positive" }, recorded: "negative", text: "negative earth", settled: "" };

test("a note beside what was read leaves it read, with the one who read it", () => {
  const base = { rows: { mark: row({ ...READ, found: { done: true, text: "0.5° off" } }) } };
  const found = standingRows([mark], base, [sent("n", "mark", "entry", { outcome: "noted", note: "new pointer" })]).get("mark");
  assert.deepEqual([found.done, found.holds, found.mark, found.who], [true, true, "good", READ.who]);
  assert.equal(found.note, "new pointer");
});

test("a reading that is missing holds what comes after it", () => {
  const base = { rows: { mark: row({ found: { done: false, text: "Timing mark not checked yet." } }) } };
  const rows = standingRows([mark, item("next")], base, []);
  assert.equal(rows.get("next").hold.key, "mark");
  assert.equal(nextOpen([mark, item("next")], rows).key, "mark");
});

test("what only a later stage reads is passed over", () => {
  const base = item("base", { kind: "reading", required: false });
  const rows = standingRows([base], { rows: { base: row({ found: { done: false, text: "" } }) } }, []);
  assert.equal(nextOpen([base], rows), null);
});

test("what differs from the record is not done, and blocks at a hold point", () => {
  const base = { rows: { post: row({ record: RECORD }) } };
  const rows = standingRows([post, item("next")], base, [sent("e", "post", "entry", { outcome: "done", choice: "positive" })]);
  const found = rows.get("post");
  assert.deepEqual([found.done, found.mark, found.record.differs, hasFailed(post, found)], [false, "stop", true, true]);
  assert.equal(rows.get("next").hold.key, "post");
});

test("a correction that waits in the queue opens the hold point", () => {
  const base = { rows: { post: row({ record: RECORD }) } };
  const rows = standingRows([post, item("next")], base, [
    sent("e", "post", "entry", { outcome: "done", choice: "positive" }),
    sent("c", "post", "correction", { entry: "e", seen: "negative earth" }),
  ]);
  assert.deepEqual([rows.get("post").done, rows.get("post").holds, rows.get("next").hold], [true, true, null]);
});

test("measured again, it stands against the record anew", () => {
  const base = { rows: { post: row({ record: RECORD }) } };
  const rows = standingRows([post], base, [
    sent("e", "post", "entry", { outcome: "done", choice: "positive" }),
    sent("w", "post", "entry", { outcome: "withdrawn", replaces: ["e"] }),
    sent("f", "post", "entry", { outcome: "done", choice: "negative", replaces: ["w"] }),
  ]);
  assert.deepEqual([rows.get("post").done, rows.get("post").record.differs], [true, false]);
});

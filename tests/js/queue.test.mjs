/* What becomes of a message of the tablet's queue: asked, refused, set aside, placed and undone. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { firstProblem } from "../../static/js/queue/typed-fields.js";
import { answered, isApart, mayBeSetAside, failedOnceMore, sendable, setAside, waitingAgain, waitingWith } from "../../static/js/queue/set-aside.js";
import { inWords, standingNotes } from "../../static/js/road/standing-notes.js";

const MAKER = 7;
let orders = 0;
const waiting = (id, more = {}) => ({ order: (orders += 1), id, state: "waiting", message: "reading", maker: MAKER, problem: "", body: { fields: {} }, ...more });
const ids = (messages) => messages.map(({ id }) => id);

test("readings are sent in the order in which they were read", () => {
  const messages = [waiting("a"), waiting("b"), waiting("c")];
  assert.deepEqual(ids(sendable(messages, MAKER)), ["a", "b", "c"]);
});

test("a refused reading holds up nobody, and is sent again only when its maker says so", () => {
  const refused = waiting("a", { state: "refused", problem: "Speed: Must be between 100 and 10000 rpm." });
  assert.ok(isApart(refused));
  assert.deepEqual(ids(sendable([refused, waiting("b")], MAKER)), ["b"]);
  assert.equal(waitingAgain(refused).state, "waiting");
});

test("a question is answered by one choice, under the same id and with what was typed", () => {
  const choice = { words: "Save 16° BTDC", fields: { correct: "16" } };
  const asked = waiting("a", { state: "refused", problem: "Distributor degrees?", choices: [choice], body: { fields: { rpm: "2000", measured_deg: "8" } } });
  const now = answered(asked, choice);
  assert.deepEqual(now.body.fields, { rpm: "2000", measured_deg: "8", correct: "16" });
  assert.deepEqual([now.id, now.state, now.problem, now.choices], ["a", "waiting", "", undefined]);
});

test("a question that was answered on another tab is not answered again", () => {
  assert.equal(answered(waiting("a"), { fields: { keep: "8" } }), undefined);
});

test("the place and the undoing of a note wait with it where it was set aside", () => {
  let note = waiting("note", { message: "note" });
  for (let failure = 0; failure < 5; failure += 1) note = failedOnceMore(note);
  assert.ok(mayBeSetAside(note));
  const place = waiting("place", { message: "placing", body: { entry: "note", fields: {} }, behind: ["note"] });
  const undo = waiting("undo", { message: "undo", body: { entry: "place" }, behind: ["place"] });
  const other = waiting("other", { message: "note" });
  const messages = [setAside(note), place, undo, other];
  assert.deepEqual([...waitingWith(messages).keys()], [place.order, undo.order]);
  assert.deepEqual(ids(sendable(messages, MAKER)), ["other"]);
});

test("of a note that was placed the place stands, and nothing of one that was undone", () => {
  const notes = [
    waiting("note", { message: "note" }),
    waiting("place", { message: "placing", body: { entry: "note", fields: {} } }),
    waiting("other", { message: "note" }),
    waiting("undo", { message: "undo", body: { entry: "other" } }),
  ];
  assert.deepEqual(ids(standingNotes(notes)), ["place"]);
});

test("a place that was refused leaves the note standing", () => {
  const notes = [waiting("note", { message: "note" }), waiting("place", { message: "placing", state: "refused", body: { entry: "note", fields: {} } })];
  assert.deepEqual(ids(standingNotes(notes)), ["note"]);
});

const box = (name, value, needed = true) => ({ name, value, label: name === "rpm" ? "Speed" : "Strobe reads", needed });

for (const [rpm, degrees, problem] of [
  ["850", "8", null],
  ["850", "7,5", null],
  ["850", "-2", null],
  ["850", "", { name: "deg", sentence: "Strobe reads is still empty. Enter it too." }],
  ["", "8", { name: "rpm", sentence: "Speed is still empty. Enter it too." }],
  ["", "", { name: "rpm", sentence: "Enter the figures first." }],
  ["85o", "8", { name: "rpm", sentence: "Speed: ‘85o’ is not a figure." }],
  ["1,500", "8", { name: "rpm", sentence: "Speed: ‘1,500’ could mean 1500 or 1.500." }],
])
  test(`'${rpm}' rpm and '${degrees}' degrees: ${problem?.sentence ?? "saved"}`, () => {
    assert.deepEqual(firstProblem([box("rpm", rpm), box("deg", degrees)]), problem);
  });

test("a vacuum may have its unit beside it, and may be left out where the pipe is off", () => {
  assert.equal(firstProblem([box("rpm", "850"), { ...box("vacuum", "10 inHg", false), takesUnit: true }]), null);
  assert.equal(firstProblem([box("rpm", "850"), box("vacuum", "", false)]), null);
});

test("a note that waits reads as the record will have it", () => {
  const words = { kinds: { pinking: "pinking", mark: "moment marked" }, strengths: { 2: "definite" }, loads: { full: "full throttle" } };
  const fields = { kind: "pinking", severity: "2", rpm: "2600", vacuum_kpa: "10", vacuum_kpa_unit: "inHg", gear: "3", load: "full", words: "on the hill" };
  assert.equal(inWords(fields, words), "definite pinking at 2600 rpm, 10 inHg, gear 3, full throttle: on the hill");
  assert.equal(inWords({ kind: "mark", severity: "" }, words), "moment marked");
});

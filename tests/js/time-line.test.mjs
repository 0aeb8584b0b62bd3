/* Moving and zooming the time line of a log: the moment under a finger stays under it, and nothing leaves the log. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { clock, graduated, moved, pinched, tickStep, within, zoomed } from "../../static/js/roadlogs/view.js";
import { unpacked } from "../../static/js/roadlogs/windows.js";

const DURATION = 1000;

test("a view that is moved beyond the log stops at its end and keeps its length", () => {
  assert.deepEqual(moved({ from: 100, to: 300 }, -5, DURATION), { from: 0, to: 200 });
  assert.deepEqual(moved({ from: 100, to: 300 }, 50, DURATION), { from: 800, to: 1000 });
  assert.deepEqual(moved({ from: 100, to: 300 }, 0.5, DURATION), { from: 200, to: 400 });
});

test("zooming keeps the moment it is about where it is", () => {
  assert.deepEqual(zoomed({ from: 0, to: 1000 }, 0.5, 250, DURATION), { from: 125, to: 625 });
  assert.deepEqual(zoomed({ from: 125, to: 625 }, 100, 250, DURATION), { from: 0, to: 1000 });
});

test("no view is shorter than a second, nor longer than the log", () => {
  assert.deepEqual(within({ from: 50, to: 50.1 }, DURATION), { from: 50, to: 51 });
  assert.deepEqual(within({ from: -3, to: 3 }, 0.5), { from: 0, to: 0.5 });
});

test("two fingers keep hold of their moments", () => {
  const view = pinched([200, 400], [0.25, 0.75], DURATION);
  assert.deepEqual(view, { from: 100, to: 500 });
  assert.equal(pinched([200, 400], [0.5, 0.5], DURATION), null);
  assert.equal(pinched([200, 400], [0.75, 0.25], DURATION), null);
});

test("graduations are steps that people count in", () => {
  assert.equal(tickStep(1290, 10), 300);
  assert.equal(tickStep(7, 10), 1);
  assert.deepEqual(graduated(808, 3315, 500), { first: 0, last: 4000, apart: 1000 });
  assert.deepEqual(graduated(12, 12, 5), { first: 10, last: 15, apart: 5 });
});

test("a time is said as the tables say it", () => {
  assert.equal(clock(750), "12:30");
  assert.equal(clock(3723), "1:02:03");
  assert.equal(clock(4.46, true), "0:04.5");
  assert.equal(clock(-61), "−1:01");
});

test("a window is unpacked as the workshop packs it", () => {
  const figures = [2, 0, 5, 1, 2, 3, 4, 10, 20, 30, 40];
  const window = unpacked(new Float32Array(figures).buffer, 100, 2);
  assert.equal(window.count, 2);
  assert.deepEqual([...window.at], [0, 5]);
  assert.deepEqual(window.low.map((line) => [...line]), [[1, 2], [3, 4]]);
  assert.deepEqual(window.high.map((line) => [...line]), [[10, 20], [30, 40]]);
});

/* What the bench does to the points of a curve: the same table as tests/map_bench/test_curve_cases.py. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { onStep, OPERATIONS, valueAt } from "../../static/js/maps/curve-maths.js";
import { casesOf } from "./cases.mjs";

const { values, operations, steps } = casesOf("curve");

const assertClose = (found, expected) => assert.ok(Math.abs(found - expected) < 1e-9, `${found}, expected ${expected}`);

for (const { points, rpm, degrees } of values)
  test(`a curve of ${points.length} points gives ${degrees} at ${rpm} rpm`, () => {
    assertClose(valueAt(points, rpm), degrees);
  });

for (const { operation, points, picked, by, degrees } of operations)
  test(`${operation} of points ${picked} gives ${degrees}`, () => {
    const all = points.map(([rpm, one]) => ({ rpm, degrees: one }));
    const chosen = picked.map((place) => all[place]);
    const found = chosen.map((point) => OPERATIONS[operation](point, { all, picked: chosen, by }));
    assert.equal(found.length, degrees.length);
    found.forEach((value, place) => assertClose(value, degrees[place]));
  });

for (const { degrees, step, from, on } of steps)
  test(`${degrees} in steps of ${step} counted from ${from} is ${on}`, () => {
    assertClose(onStep(degrees, step, from), on);
  });

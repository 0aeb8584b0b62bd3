/* Figures as they are typed: the same table as tests/quantities/test_typed.py. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { figure } from "../../static/js/figures.js";
import { whyNoFigure } from "../../static/js/fitting/refused-figure.js";
import { casesOf } from "./cases.mjs";

const { read, refused } = casesOf("typed_figures");

for (const { typed, value } of read)
  test(`‘${typed}’ is read as ${value}`, () => {
    assert.ok(figure(typed) === value);
  });

for (const { typed, why } of refused)
  test(`‘${typed}’ is refused with the reason`, () => {
    assert.ok(Number.isNaN(figure(typed)));
    assert.equal(whyNoFigure(typed), why);
  });

test("more digits than a figure can have are refused", () => {
  assert.ok(Number.isNaN(figure("9".repeat(400))));
});

/* What differs from the car's record while there is no network: the table of tests/checklists/test_car_fact_cases.py. */

import assert from "node:assert/strict";
import { test } from "node:test";

import { differs, isNew } from "../../static/js/fitting/car-fact.js";
import { casesOf } from "./cases.mjs";

const LABELS = ["contact breaker", "Hall", "optical", "inductive"];
const oneToOne = (...names) => Object.fromEntries(names.map((name) => [name, name]));

/* As jobs/checklists/presentation.py hands them to the page. */
const FACTS = {
  earth_polarity: { how: "choice", values: oneToOne("negative", "positive") },
  system_volts: { how: "choice", values: { "6 V": 6, "12 V": 12 } },
  rotation: { how: "choice", values: oneToOne("clockwise", "anticlockwise") },
  cylinders: { how: "choice", values: Object.fromEntries([1, 2, 3, 4, 5, 6, 8, 12].map((count) => [String(count), count])) },
  trigger: { how: "choice", values: Object.fromEntries(LABELS.map((name) => [name, name.toLowerCase()])) },
  rotor: { how: "choice", values: { "rotor and cap": true, "1 mm or more": true, "less than 1 mm": true, "no rotor": false } },
  ballast: { how: "choice", values: { fitted: true, none: false } },
  firing_order: { how: "order", values: {} },
  coil_ohm: { how: "figure", values: {}, within: 0.1, margin: 0 },
  ballast_ohm: { how: "figure", values: {}, within: 0.1, margin: 0 },
  red_line: { how: "figure", values: {}, within: 0, margin: 50 },
};
const KINDS = { choice: "choice", order: "text", figure: "measure" };

for (const { name, fact, recorded, entry, differs: expected, is_new = false } of casesOf("car_facts").cases)
  test(name, () => {
    const record = { ...FACTS[fact], recorded, settled: "" };
    const item = {
      kind: KINDS[record.how],
      unit: "",
      units: [{ unit: "", times: 1, over: 1, decimals: 2, limits: "" }],
      raised: 0,
      perDegree: fact === "coil_ohm" ? 0.00393 : 0,
      beside: fact === "coil_ohm" ? { label: "Temperature" } : null,
    };
    const made = { id: "it", outcome: "done", measure: null, beside: null, choice: "", text: "", ...entry };
    assert.equal(differs(item, made, record), expected);
    if (is_new) assert.equal(isNew(record), true);
    // A correction of the record that waits in the queue has decided it.
    assert.equal(differs(item, made, { ...record, settled: "it" }), false);
  });

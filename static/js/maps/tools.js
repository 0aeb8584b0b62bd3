/* What is done to selected points at once. */

import { figure } from "../figures.js";
import { OPERATIONS } from "./curve-maths.js";

export const layOutTools = (bar, curve, on) => {
  const box = (name) => bar.querySelector(`[data-${name}]`);
  const by = {
    shift: () => figure(box("by-degrees").value),
    scale: () => figure(box("by-factor").value),
    copy: () => box("copy-from").selectedOptions[0].dataset.curve.split(" ").map((pair) => pair.split(":").map(Number)),
  };

  bar.addEventListener("click", (event) => {
    const action = event.target.closest("[data-action]")?.dataset.action;
    if (!action) return;
    if (/^(un|re)do$/.test(action)) return on.goInTime(action);
    if (action === "add") return curve.add();
    const all = curve.points();
    if (/^pick/.test(action)) {
      for (const { row } of all) curve.pick(row).checked = action === "pick-all";
      return;
    }
    if (!curve.isCurve(all)) return on.say("Fix the red boxes first.");
    const picked = all.filter(({ row }) => curve.pick(row).checked);
    if (!picked.length) return on.say("Select rows first: tick, or Shift and arrows.");
    if (action === "ramp" && picked.length < 3) return on.say("Select two ends and a row between them.");
    const values = picked.map((point) => OPERATIONS[action](point, { all, picked, by: by[action]?.() }));
    if (!values.every(Number.isFinite)) return on.say("Enter a figure first.");
    picked.forEach((point, place) => curve.write(point, values[place]));
    on.say(`Points changed: ${picked.length}.`);
    on.moved();
    on.settled();
  });
};

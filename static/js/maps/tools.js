/* What is done to picked points at once, then put on the steps of the unit. */

import { figure } from "../figures.js";
import { OPERATIONS } from "./curve-maths.js";

export const layOutTools = (bar, curve, on) => {
  const box = (name) => bar.querySelector(`[data-${name}]`);
  const typedIn = (name) => () => figure(box(name).value);

  const by = {
    shift: typedIn("by-degrees"),
    scale: typedIn("by-factor"),
    copy: () => {
      const pairs = box("copy-from").selectedOptions[0].dataset.curve.split(" ");
      return pairs.map((pair) => pair.split(":").map(Number));
    },
  };

  bar.addEventListener("click", (event) => {
    const action = event.target.closest("[data-action]")?.dataset.action;
    if (!action) return;
    if (action === "undo" || action === "redo") return on.goInTime(action);
    if (action === "add") return curve.add();
    if (action === "pick-all" || action === "pick-none") {
      for (const point of curve.points()) curve.pick(point.row).checked = action === "pick-all";
      return;
    }
    const all = curve.points();
    if (!curve.isCurve(all)) return on.say("Fix the red boxes first.");
    const picked = curve.picked();
    if (!picked.length) return on.say("Select rows first, by their ticks or with Shift and the arrow keys.");
    if (action === "ramp" && picked.length < 3) return on.say("A straight line needs two ends and a row between them.");
    const values = OPERATIONS[action](all, picked, by[action]?.());
    if (values.some((value) => !Number.isFinite(value))) return on.say("Write a figure to do it by.");
    picked.forEach((point, place) => curve.write(point, values[place]));
    on.say(`${picked.length} ${picked.length === 1 ? "point" : "points"} changed.`);
    on.moved();
    on.settled();
  });
};

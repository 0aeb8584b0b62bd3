/* What is done to picked nodes at once, as `timing.curve` does it, then put on steps. */

import { figure, valueAt } from "./curve.js";

/** What the straight line from one node to another gives at the speed of `node`. */
const onLine = (from, to, node) => valueAt([from, to].map(({ rpm, degrees }) => [rpm, degrees]), node.rpm);

/** Half way to the line between the neighbours; the first and the last node stay. */
const smoothed = (all, picked) =>
  picked.map((node) => {
    const place = all.indexOf(node);
    const [before, after] = [all[place - 1], all[place + 1]];
    return before && after ? (node.degrees + onLine(before, after, node)) / 2 : node.degrees;
  });

const ramped = (all, picked) => picked.map((node) => onLine(picked[0], picked.at(-1), node));

export const layOutTools = (bar, curve, on) => {
  const box = (name) => bar.querySelector(`[data-${name}]`);

  const deeds = {
    shift: (all, picked) => picked.map((node) => node.degrees + figure(box("by-degrees").value)),
    scale: (all, picked) => picked.map((node) => node.degrees * figure(box("by-factor").value)),
    smooth: smoothed,
    ramp: ramped,
    copy: (all, picked) => {
      const pairs = box("copy-from").selectedOptions[0].dataset.curve.split(" ");
      const points = pairs.map((pair) => pair.split(":").map(Number));
      return picked.map((node) => valueAt(points, node.rpm));
    },
  };

  bar.addEventListener("click", (event) => {
    const deed = event.target.closest("[data-deed]")?.dataset.deed;
    if (!deed) return;
    if (deed === "undo" || deed === "redo") return on.goInTime(deed);
    if (deed === "add") return curve.add();
    if (deed === "pick-all" || deed === "pick-none") {
      for (const node of curve.nodes()) curve.pick(node.row).checked = deed === "pick-all";
      return;
    }
    const all = curve.nodes();
    if (!curve.isCurve(all)) return on.say("Fix the red boxes first.");
    const picked = curve.picked();
    if (!picked.length) return on.say("Select rows first: tick them or use Shift and arrow keys.");
    if (deed === "ramp" && picked.length < 3) return on.say("Select two ends and a row between them.");
    const values = deeds[deed](all, picked);
    if (values.some((value) => !Number.isFinite(value))) return on.say("Enter a figure first.");
    picked.forEach((node, place) => curve.write(node, values[place]));
    on.say(`${picked.length} ${picked.length === 1 ? "node" : "nodes"} changed.`);
    on.moved();
    on.settled();
  });
};

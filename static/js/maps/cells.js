/* Tables of boxes by keys, and pasting into them. */

import { figure } from "../figures.js";

const TABLES = "[data-curve], [data-grid], [data-rows]";

const placeOf = (table, box) => {
  const rows = [...table.rows].map((row) => [...row.querySelectorAll("input[type=text]")]).filter((row) => row.length);
  const row = rows.findIndex((boxes) => boxes.includes(box));
  return { rows, row, column: rows[row].indexOf(box) };
};

const isWhole = (box) => box.selectionStart === 0 && box.selectionEnd === box.value.length;

/** Whether an arrow to the left or right would leave the text of the box. */
const leaves = (box, edge) => isWhole(box) || (box.selectionStart === edge && box.selectionEnd === edge);

const stepOf = (box, step) => (/deg$/.test(box.name) ? step : box.name === "curve_rpm" ? 100 : 1);

export const goAbout = (root, curve, on) => {
  root.addEventListener("focusin", (event) => {
    if (event.target.matches?.("input[type=text]") && event.target.closest(TABLES)) event.target.select();
  });

  root.addEventListener("keydown", (event) => {
    const box = event.target;
    const table = box.closest?.(TABLES);
    if (!table || box.type !== "text" || event.ctrlKey || event.metaKey || event.altKey) return;
    const { rows, row, column } = placeOf(table, box);
    const go = (target) => {
      event.preventDefault();
      target?.focus();
    };
    const sign = { "+": 1, "=": 1, "-": -1 }[event.key];
    if (event.key === "ArrowDown" || event.key === "ArrowUp" || event.key === "Enter") {
      const next = row + (event.key === "ArrowUp" ? -1 : 1);
      if (event.shiftKey && table.matches("[data-curve]"))
        for (const one of [row, next]) if (curve.rows()[one]) curve.pick(curve.rows()[one]).checked = true;
      go(rows[next]?.[Math.min(column, rows[next].length - 1)]);
    } else if (event.key === "ArrowLeft" && leaves(box, 0)) go(rows[row][column - 1]);
    else if (event.key === "ArrowRight" && leaves(box, box.value.length)) go(rows[row][column + 1]);
    else if (sign && (isWhole(box) || event.key !== "-" || box.selectionStart > 0) && Number.isFinite(figure(box.value))) {
      event.preventDefault();
      const changed = figure(box.value) + sign * stepOf(box, curve.step);
      box.value = box.name === "curve_deg" ? curve.snapped(changed) : Number(changed.toFixed(4));
      box.select();
      on.moved();
      on.settled();
    }
  });

  root.addEventListener("paste", async (event) => {
    const box = event.target;
    const table = box.closest?.(TABLES);
    const text = event.clipboardData?.getData("text/plain") ?? "";
    if (!table || !/[\t\n;]/.test(text.trim())) return; // a single figure
    event.preventDefault();
    const { rows, row, column } = placeOf(table, box);
    const form = new FormData();
    form.set("text", text);
    for (const right in rows[row].slice(column)) form.append("width", Number(right) + 1);
    const answer = await on.post(root.dataset.paste, form);
    if (answer.problem) return on.say(`${answer.problem} Nothing pasted.`);
    const isCurve = table.matches("[data-curve]");
    if (!isCurve && row + answer.rows.length > rows.length)
      return on.say(`${answer.rows.length} rows copied, only ${rows.length - row} fit. Nothing pasted.`);
    const boxesAt = (place) => (isCurve ? curve.boxes(curve.rowAt(place)) : rows[place]);
    answer.rows.forEach((figures, down) => {
      figures.forEach((value, right) => (boxesAt(row + down)[column + right].value = value));
    });
    on.say(`${answer.rows.length} rows pasted.`);
    on.moved();
    on.settled();
  });
};

/* The speed curve as rows of boxes: the boxes are the truth. */

import { figure } from "../figures.js";
import { onStep } from "./curve-maths.js";

export const makeCurve = (root) => {
  const body = root.querySelector("[data-curve] tbody");
  const base = root.querySelector("[name=base_deg]");
  const step = Number(root.dataset.step);
  const absolute = root.dataset.counted === "absolute";

  const boxes = (row) => [...row.querySelectorAll("input[type=text]")];
  const rows = () => [...body.rows];

  const points = () =>
    rows()
      .filter((row) => boxes(row).some((box) => box.value.trim()))
      .map((row) => {
        const [rpm, degrees] = boxes(row);
        return { row, rpm: figure(rpm.value), degrees: figure(degrees.value), box: degrees };
      });

  const isCurve = (list) =>
    list.length > 0 &&
    list.every((point, place) => Number.isFinite(point.rpm + point.degrees) && (!place || point.rpm > list[place - 1].rpm));

  /** On a step of the unit, which may count from top dead centre. */
  const snapped = (degrees) => onStep(degrees, step, absolute ? figure(base.value) || 0 : 0);

  const write = (point, degrees) => {
    point.box.value = snapped(degrees);
  };

  const blank = body.lastElementChild.cloneNode(true);

  const addAfter = (row) => {
    row.after(blank.cloneNode(true));
    rows().forEach((each, place) => {
      for (const box of each.querySelectorAll("input")) box.ariaLabel = box.ariaLabel.replace(/\d+$/, place + 1);
    });
    return row.nextSibling;
  };

  const rowAt = (place) => {
    while (body.rows.length <= place) addAfter(body.lastElementChild);
    return body.rows[place];
  };

  const add = () => boxes(addAfter(body.querySelector(".is-at-hand") ?? body.lastElementChild))[0].focus();

  const read = () => rows().map((row) => boxes(row).map((box) => box.value));

  const restore = (texts) => {
    texts.forEach((pair, place) => boxes(rowAt(place)).forEach((box, column) => (box.value = pair[column])));
    for (const row of rows().slice(texts.length)) for (const box of boxes(row)) box.value = "";
  };

  const showDelivered = (figures) => {
    const cellOf = (row) => row.querySelector("[data-delivered]");
    for (const row of rows()) cellOf(row).textContent = "";
    points().forEach(({ row, degrees }, place) => {
      cellOf(row).textContent = figures[place] ?? "";
      cellOf(row).classList.toggle("is-off", Math.abs(figure(figures[place]) - degrees) >= 0.05);
    });
  };

  const pick = (row) => row.querySelector(".row-pick");

  return { body, step, boxes, rows, points, isCurve, snapped, write, rowAt, add, read, restore, showDelivered, pick };
};

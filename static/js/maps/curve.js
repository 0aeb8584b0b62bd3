/* The speed curve as rows of boxes: the boxes are the truth. */

const FIGURE = /^[-+]?(\d+(\.\d*)?|\.\d+)$/;

/** The figure typed in a box, with a point or a comma; NaN if there is none. */
export const figure = (text) => {
  const plain = text.trim().replace("\u2212", "-").replace(",", ".");
  return FIGURE.test(plain) ? Number(plain) : NaN;
};

export const makeCurve = (root) => {
  const body = root.querySelector("[data-curve] tbody");
  const base = root.querySelector("[name=base_deg]");
  const step = Number(root.dataset.step);
  const absolute = root.dataset.counted === "absolute";

  const boxes = (row) => [...row.querySelectorAll("input[type=text]")];
  const rows = () => [...body.rows];
  const isBlank = (row) => boxes(row).every((box) => !box.value.trim());

  /** The rows that are nodes, in order, with what is typed in them. */
  const nodes = () =>
    rows()
      .filter((row) => !isBlank(row))
      .map((row) => {
        const [rpm, degrees] = boxes(row);
        return { row, rpm: figure(rpm.value), degrees: figure(degrees.value), box: degrees };
      });

  const isCurve = (list) =>
    list.length > 0 &&
    list.every((node, place) => Number.isFinite(node.rpm + node.degrees) && (!place || node.rpm > list[place - 1].rpm));

  /** Degrees on a step of the unit, which may count from top dead centre. */
  const snapped = (degrees) => {
    const moved = absolute ? figure(base.value) || 0 : 0;
    const whole = Math.round((degrees + moved) / step) * step - moved;
    return Number(whole.toFixed(4));
  };

  const write = (node, degrees) => {
    node.box.value = snapped(degrees);
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

  /** A blank row for another node, after the one at hand. */
  const add = () => boxes(addAfter(body.querySelector(".is-at-hand") ?? body.lastElementChild))[0].focus();

  const read = () => rows().map((row) => boxes(row).map((box) => box.value));

  const restore = (texts) => {
    texts.forEach((pair, place) => boxes(rowAt(place)).forEach((box, column) => (box.value = pair[column])));
    for (const row of rows().slice(texts.length)) for (const box of boxes(row)) box.value = "";
  };

  const showHeld = (figures) => {
    const given = nodes();
    for (const row of rows()) row.querySelector("[data-held]").textContent = "";
    given.forEach((node, place) => {
      const cell = node.row.querySelector("[data-held]");
      cell.textContent = figures[place] ?? "";
      const counted = node.degrees + (absolute ? figure(base.value) || 0 : 0);
      cell.classList.toggle("is-off", Math.abs(figure(cell.textContent) - counted) >= 0.05);
    });
  };

  const pick = (row) => row.querySelector(".row-pick");
  const picked = () => nodes().filter((node) => pick(node.row).checked);

  return { body, step, boxes, rows, nodes, isCurve, snapped, write, rowAt, add, read, restore, showHeld, pick, picked };
};

/** Value of the curve at `rpm`, its ends held. */
export const valueAt = (points, rpm) => {
  const above = points.findIndex(([x]) => rpm <= x);
  if (above < 1) return points.at(above)[1]; // below the first, or at(-1): above the last
  const [[x0, y0], [x1, y1]] = points.slice(above - 1, above + 1);
  return y0 + ((y1 - y0) * (rpm - x0)) / (x1 - x0);
};

/* Moving a car on the week by its grip: with a mouse or finger, or with arrow keys and Enter. The form is sent as the
 * page without script sends it, and whatever forbids the move is said there. */

const table = document.querySelector("[data-week]");
const form = document.querySelector("[data-moving-form]");
const said = document.querySelector("[data-moving-said]");
const SCROLL_EDGE = 48; // [px] this near to the edge of the glass the page goes along
const SCROLL_STEP = 16;

const say = (words) => {
  said.textContent = words;
};

const cellAt = (x, y) => document.elementFromPoint(x, y)?.closest("[data-day]") ?? null;

const mark = (cell) => {
  table.querySelector(".week-target")?.classList.remove("week-target");
  cell?.classList.add("week-target");
};

// The grip carries what the form would be filled with.
const isHome = ({ dataset: car }, cell) =>
  cell.dataset.day === car[car.column] && cell.dataset.person === car.mechanic;

const move = (grip, cell) => {
  const car = grip.dataset;
  mark(null);
  if (isHome(grip, cell)) {
    say("Left where it was");
    return;
  }
  form.action = car.move;
  const boxes = form.elements;
  boxes.namedItem("row_version").value = car.rowVersion;
  for (const name of ["booked_for", "promised_for", "bay"]) boxes.namedItem(name).value = car[name];
  boxes.namedItem(car.column).value = cell.dataset.day;
  boxes.namedItem("mechanic").value = cell.dataset.person;
  form.requestSubmit();
};

const goAlong = (y) => {
  if (y < SCROLL_EDGE) window.scrollBy(0, -SCROLL_STEP);
  else if (y > window.innerHeight - SCROLL_EDGE) window.scrollBy(0, SCROLL_STEP);
};

const byPointer = (grip, card) => {
  let pointer = null;
  const end = () => {
    pointer = null;
    card.classList.remove("week-card-moving");
    card.style.removeProperty("translate");
    mark(null);
  };
  let from = { x: 0, y: 0 };
  grip.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    pointer = event.pointerId;
    from = { x: event.pageX, y: event.pageY };
    grip.setPointerCapture(pointer);
    card.classList.add("week-card-moving");
  });
  grip.addEventListener("pointermove", (event) => {
    if (event.pointerId !== pointer) return;
    card.style.translate = `${event.pageX - from.x}px ${event.pageY - from.y}px`;
    goAlong(event.clientY);
    mark(cellAt(event.clientX, event.clientY));
  });
  grip.addEventListener("pointerup", (event) => {
    if (event.pointerId !== pointer) return;
    const cell = cellAt(event.clientX, event.clientY);
    end();
    if (cell) move(grip, cell);
  });
  grip.addEventListener("pointercancel", end);
};

const STEPS = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [-1, 0], ArrowDown: [1, 0] };

const neighbour = (cell, [down, along]) => {
  const rows = [...table.tBodies[0].rows];
  const row = rows[rows.indexOf(cell.parentElement) + down];
  return row?.cells[cell.cellIndex + along]?.matches("[data-day]") ? row.cells[cell.cellIndex + along] : cell;
};

// A late car lies above the week: it comes onto it at today, with the first key.
const homeOf = (grip) => {
  const row = table.querySelector(`[data-person="${grip.dataset.mechanic}"]`)?.parentElement ?? table.tBodies[0].rows[0];
  return row.querySelector(".week-today") ?? row.querySelector("[data-day]");
};

const byKeys = (grip) => {
  let target = null;
  grip.addEventListener("keydown", (event) => {
    if (event.key in STEPS) {
      event.preventDefault();
      const from = target ?? grip.closest("[data-day]");
      target = from ? neighbour(from, STEPS[event.key]) : homeOf(grip);
      mark(target);
      target.scrollIntoView({ block: "nearest", inline: "nearest" });
      say(target.dataset.said);
    } else if (event.key === "Enter" && target) {
      event.preventDefault();
      move(grip, target);
      target = null;
    } else if (event.key === "Escape" && target) {
      target = null;
      mark(null);
      say("Left where it was");
    }
  });
  grip.addEventListener("blur", () => {
    target = null;
    mark(null);
  });
};

if (table && form) {
  document.querySelector("[data-how-to-move]").hidden = false;
  for (const grip of document.querySelectorAll(".week-grip")) {
    grip.hidden = false;
    byPointer(grip, grip.closest(".week-card"));
    byKeys(grip);
  }
}

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

const isHome = (card, cell) =>
  cell.dataset.day === card.dataset[card.dataset.column] && cell.dataset.person === card.dataset.mechanic;

const move = (card, cell) => {
  mark(null);
  if (isHome(card, cell)) {
    say("Left where it was");
    return;
  }
  form.action = card.dataset.move;
  const boxes = form.elements;
  boxes.namedItem("row_version").value = card.dataset.rowVersion;
  for (const name of ["booked_for", "promised_for", "bay"]) boxes.namedItem(name).value = card.dataset[name];
  boxes.namedItem(card.dataset.column).value = cell.dataset.day;
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
    if (cell) move(card, cell);
  });
  grip.addEventListener("pointercancel", end);
};

const STEPS = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [-1, 0], ArrowDown: [1, 0] };

const neighbour = (cell, [down, along]) => {
  const rows = [...table.tBodies[0].rows];
  const row = rows[rows.indexOf(cell.parentElement) + down];
  return row?.cells[cell.cellIndex + along]?.matches("[data-day]") ? row.cells[cell.cellIndex + along] : cell;
};

const homeOf = (card) => {
  const own = card.closest("[data-day]");
  if (own) return own;
  const row = table.querySelector(`[data-person="${card.dataset.mechanic}"]`)?.parentElement ?? table.tBodies[0].rows[0];
  return row.querySelector(".week-today") ?? row.querySelector("[data-day]"); // a late car begins at today
};

const byKeys = (grip, card) => {
  let target = null;
  grip.addEventListener("keydown", (event) => {
    if (event.key in STEPS) {
      event.preventDefault();
      target = target ? neighbour(target, STEPS[event.key]) : stepFrom(homeOf(card), STEPS[event.key], card);
      mark(target);
      target.scrollIntoView({ block: "nearest", inline: "nearest" });
      say(target.dataset.said);
    } else if (event.key === "Enter" && target) {
      event.preventDefault();
      move(card, target);
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

// A card that lies beside the table comes onto it with the first key.
const stepFrom = (home, step, card) => (card.closest("[data-day]") ? neighbour(home, step) : home);

if (table && form) {
  document.querySelector("[data-how-to-move]").hidden = false;
  for (const card of document.querySelectorAll("[data-card]")) {
    const grip = card.querySelector(".week-grip");
    grip.hidden = false;
    byPointer(grip, card);
    byKeys(grip, card);
  }
}

/* The surface: the cell under finger, mouse or arrow keys tells what it is the sum of. */

const ARROWS = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [1, 0], ArrowDown: [-1, 0] };

const tell = (cell) => {
  const frame = cell.closest("[data-surface]");
  frame.querySelector(".is-at-hand")?.classList.remove("is-at-hand");
  cell.classList.add("is-at-hand");
  cell.parentNode.append(cell); // its outline lies over its neighbours
  const told = frame.parentNode.querySelector("[data-surface-says]");
  told.textContent = cell.dataset.says;
  told.href = cell.dataset.link;
};

document.addEventListener("pointerover", (event) => {
  const cell = event.target.closest?.("[data-surface] .chart-cell");
  if (cell) tell(cell);
});

document.addEventListener("keydown", (event) => {
  const frame = event.target.closest?.("[data-surface]");
  const step = ARROWS[event.key];
  if (!frame || !step) return;
  event.preventDefault();
  const here = frame.querySelector(".is-at-hand");
  const [row, column] = here ? [Number(here.dataset.row) + step[0], Number(here.dataset.column) + step[1]] : [0, 0];
  const cell = frame.querySelector(`.chart-cell[data-row="${row}"][data-column="${column}"]`);
  if (cell) tell(cell);
});

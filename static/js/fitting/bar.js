/* The bar that stays in sight: which car it is, how far the sheet is, and the way to the hold point that blocks the rest. */

export class Bar {
  constructor(root, onOpen) {
    this.progress = root.querySelector("[data-progress]");
    this.way = root.querySelector("[data-hold-way]");
    this.way.addEventListener("click", (event) => {
      event.preventDefault();
      onOpen(this.hold);
    });
  }

  show(items, rows) {
    const done = items.filter(({ key }) => rows.get(key).done).length;
    this.progress.textContent = `${done} of ${items.length}`;
    this.hold = items.find(({ key, holdPoint }) => holdPoint && !rows.get(key).holds);
    this.way.hidden = !this.hold;
  }
}

/* Undoing what was entered: what is in the record, and what still waits on this tablet. */

/* The ids that messages of this tablet undo, or put others in place of. */
const OVER = ["undo", "placing"];
export const undone = (messages) =>
  new Set(messages.filter(({ message, state }) => OVER.includes(message) && state !== "refused").map(({ body }) => body.entry));

/* A form that undoes an entry goes through the queue as well, so that it works without a network. */
export const undoByQueue = (root, enter) =>
  root.addEventListener("submit", (event) => {
    const { undo, said } = event.target.dataset;
    if (!undo) return;
    event.preventDefault();
    enter({ message: "undo", said: `undo ${said}`, body: { entry: undo } });
  });

/* Marks the rows in the record that are to be undone. */
export const markUndone = (root, messages) => {
  const ids = undone(messages);
  for (const form of root.querySelectorAll("form[data-undo]")) {
    const isGone = ids.has(form.dataset.undo);
    form.closest("tr, li")?.classList.toggle("is-undone", isGone);
    form.hidden = isGone;
    const place = root.querySelector(`[data-place="${form.dataset.undo}"]`);
    if (place) place.hidden = isGone;
  }
};

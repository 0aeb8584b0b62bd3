/* Undoing what was entered: what is in the record, and what still waits on this tablet. */

/* The ids that are to be undone by messages that wait. */
export const undone = (messages) =>
  new Set(messages.filter(({ message, state }) => message === "undo" && state !== "refused").map(({ body }) => body.entry));

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
    form.closest("tr, li")?.classList.toggle("is-undone", ids.has(form.dataset.undo));
    form.hidden = ids.has(form.dataset.undo);
  }
};

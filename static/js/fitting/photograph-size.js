/* Says that a photograph is too large as soon as it is chosen, and not after minutes of sending. */

import { element, mark } from "./dom.js";

export const tooLarge = (file, largest) =>
  file.size > largest ? `More than ${largest / 1024 / 1024} MB. Take the photograph in a smaller size.` : "";

/* On forms without a queue: fields that say what they take, <input type="file" data-largest="…">. */
const said = new WeakMap();

document.addEventListener("change", ({ target }) => {
  if (!target.dataset?.largest || !target.files.length) return;
  said.get(target)?.remove();
  // Everything of one form is sent together.
  const boxes = target.form ? target.form.querySelectorAll("[data-largest]") : [target];
  const size = [...boxes].flatMap((box) => [...box.files]).reduce((sum, file) => sum + file.size, 0);
  const problem = tooLarge({ size }, Number(target.dataset.largest));
  if (!problem) return;
  target.value = "";
  const words = element("p", { class: "field-error", role: "alert" }, mark("stop"), " ", problem);
  said.set(target, words);
  target.after(words);
});

/* What was typed into a form: taken whole or asked about, and sent as it was typed, for the workshop computer to read. */

import { figure } from "../figures.js";
import { whyNoFigure } from "../fitting/refused-figure.js";

/*
 * The first box with which something is wrong, and the sentence; nothing where all is well. `boxes` are objects of
 * {name, value, label, needed, takesUnit}. What has its unit written beside the figure is for the workshop computer to read.
 */
export const firstProblem = (boxes) => {
  const some = boxes.some(({ value }) => value.trim());
  for (const { name, value, label, needed } of boxes) {
    if (!value.trim() && needed) return { name, sentence: some ? `${label} is still empty. Enter it too.` : "Enter the figures first." };
  }
  for (const { name, value, label, takesUnit } of boxes) {
    const bare = takesUnit ? value.trim().replace(/\s*[A-Za-z"]+$/, "") : value;
    if (value.trim() && Number.isNaN(figure(bare))) return { name, sentence: `${label}: ${whyNoFigure(value)}` };
  }
  return null;
};

/* The fields of `form` that are sent, but for those the page makes anew each time. */
export const fieldsOf = (form) => {
  const fields = Object.fromEntries(new FormData(form));
  delete fields.csrfmiddlewaretoken;
  delete fields.id;
  return fields;
};

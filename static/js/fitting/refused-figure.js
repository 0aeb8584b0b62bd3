/* Why what was typed is no figure, in the words of garage/quantities/typed.py: tests/cases/typed_figures.json. */

import { couldBeTwo, tidied } from "../figures.js";

export const whyNoFigure = (typed) => {
  const text = tidied(typed);
  if (!text) return "Enter a figure.";
  if (couldBeTwo(text)) return `‘${text}’ could mean ${text.replaceAll(",", "")} or ${text.replace(",", ".")}.`;
  return `‘${text}’ is not a figure.`;
};

/*
 * Figures as people type them, read as garage/quantities/typed.py reads them: with a point or a comma, with either minus
 * sign, and never in two ways. The cases of both stand in tests/cases/typed_figures.json.
 */

const FIGURE = /^[-+]?(\d+(\.\d*)?|\.\d+)$/;
// A thousand to one person, and one to another.
const TWO_FIGURES = /^[-+]?[1-9]\d{0,2}(,\d{3})+$/;

const tidied = (typed) => typed.trim().replaceAll("\u2212", "-").replaceAll("\u00a0", "");
const asDigits = (text) => text.replaceAll(",", ".");

/** The figure that was typed; NaN if it is none, or could be either of two. */
export const figure = (typed) => {
  const text = tidied(typed);
  if (TWO_FIGURES.test(text) || !FIGURE.test(asDigits(text))) return NaN;
  const value = Number(asDigits(text));
  return Number.isFinite(value) ? value : NaN;
};

/** Why `typed` is no figure, for the person who typed it. */
export const whyNoFigure = (typed) => {
  const text = tidied(typed);
  if (!text) return "Write a figure.";
  if (TWO_FIGURES.test(text)) return `‘${text}’ could mean ${text.replaceAll(",", "")} or ${text.replace(",", ".")}.`;
  return `‘${text}’ is not a figure.`;
};

/* Figures as garage/quantities/typed.py reads them: tests/cases/typed_figures.json. */

// A thousand to one person, and one to another.
const TWO_FIGURES = /^[-+]?[1-9]\d{0,2}(,\d{3})+$/;

export const tidied = (typed) => typed.trim().replaceAll("\u2212", "-").replaceAll("\u00a0", "");
export const couldBeTwo = (text) => TWO_FIGURES.test(text);

/** The figure that was typed; NaN if it is none, or could be either of two. */
export const figure = (typed) => {
  const text = tidied(typed);
  const digits = text.replaceAll(",", ".");
  const value = /^[-+]?(\d+(\.\d*)?|\.\d+)$/.test(digits) && !couldBeTwo(text) ? Number(digits) : NaN;
  return Number.isFinite(value) ? value : NaN;
};

/* The verdict on a figure while it is typed. The words come from the workshop computer; here is only the comparing. */

const plain = (typed) => typed.trim().replace("−", "-");
// A thousand to one person, and one to another.
const isTwoFigures = (text) => /^-?[1-9]\d{0,2},\d{3}$/.test(text);

export const figureFrom = (typed) => {
  const text = plain(typed);
  if (isTwoFigures(text) || !/^-?(\d+[.,]?\d*|[.,]\d+)$/.test(text)) return null;
  return Number(text.replace(",", "."));
};

export const whyNoFigure = (typed) => {
  const text = plain(typed);
  if (!isTwoFigures(text)) return `‘${typed}’ is not a figure. Enter it like 1.48.`;
  return `‘${text}’ could mean ${text.replace(",", "")} or ${text.replace(",", ".")}. Enter one of these.`;
};

export const judgeFigure = (item, figure) => {
  if (item.low !== null && figure < item.low) return { mark: "stop", words: "fail, low", holds: false };
  if (item.high !== null && figure > item.high) return { mark: "stop", words: "fail, high", holds: false };
  return { mark: "good", words: item.inTolerance, holds: true };
};

export const judge = (item, entry) => {
  switch (entry.outcome) {
    case "not possible":
      return { mark: "caution", words: "not possible", holds: false };
    case "let pass":
      return { mark: "caution", words: "overridden", holds: true };
    case "noted":
      return { mark: "open", words: "noted", holds: false };
  }
  if (item.kind === "measure") return judgeFigure(item, entry.measure);
  if (item.kind === "choice" && item.goodChoices.length) {
    const good = item.goodChoices.includes(entry.choice);
    return good
      ? { mark: "good", words: "pass", holds: true }
      : { mark: "stop", words: "fail", holds: false };
  }
  return { mark: "good", words: "done", holds: true };
};

export const figureText = (figure, decimals) => {
  const typed = String(figure);
  const places = typed.includes(".") ? typed.split(".")[1].length : 0;
  return figure.toFixed(Math.max(places, decimals)).replace("-", "−");
};

export const valueText = (item, entry) => {
  if (entry.measure !== null && entry.measure !== undefined) return figureText(entry.measure, item.decimals);
  return entry.choice || entry.text || "";
};

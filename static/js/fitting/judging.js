/*
 * The verdict on an entry while there is no network, as jobs/checklists/verdict.py gives it. The cases of both stand in
 * tests/cases/ticks.json.
 */

export const judgeFigure = (item, figure) => {
  if (item.low !== null && figure < item.low) return { mark: "stop", words: "too low", holds: false };
  if (item.high !== null && figure > item.high) return { mark: "stop", words: "too high", holds: false };
  return { mark: "good", words: item.inTolerance, holds: true };
};

export const judge = (item, entry) => {
  switch (entry.outcome) {
    case "not possible":
      return { mark: "caution", words: "not possible", holds: false };
    case "let pass":
      return { mark: "caution", words: "let pass by the owner", holds: true };
    case "noted":
      return { mark: "open", words: "noted, still open", holds: false };
  }
  if (item.kind === "measure") return judgeFigure(item, entry.measure);
  if (item.kind === "choice" && item.goodChoices.length) {
    const good = item.goodChoices.includes(entry.choice);
    return good
      ? { mark: "good", words: "in tolerance", holds: true }
      : { mark: "stop", words: "out of tolerance", holds: false };
  }
  return { mark: "good", words: "done", holds: true };
};

const decimalsOf = (figure) => {
  const [digits, exponent = "0"] = String(figure).split("e");
  return Math.max(0, (digits.split(".")[1] ?? "").length - Number(exponent));
};

/* With at least `decimals` decimals, and never fewer than were typed; free of the noise of a conversion. */
export const figureText = (figure, decimals) => {
  const plain = Number(figure.toPrecision(12));
  return plain.toFixed(Math.max(decimalsOf(plain), decimals)).replace("-", "−");
};

export const valueText = (item, entry) => {
  if (entry.measure !== null && entry.measure !== undefined) return figureText(entry.measure, item.decimals);
  return entry.choice || entry.text || "";
};

/*
 * The verdict on an entry while there is no network, as jobs/checklists/verdict.py gives it. The cases of both stand in
 * tests/cases/ticks.json.
 */

import { asksAboutRecord, isNew } from "./car-fact.js";
import { correctedOf, figureText, hasFigure, unitOf } from "./measure.js";

export { figureText };

/* `figure` is corrected, and in the canonical unit. */
export const judgeFigure = (item, figure) => {
  if (item.low !== null && figure < item.low) return { mark: "stop", words: "fail, low", holds: false };
  if (item.high !== null && figure > item.high) return { mark: "stop", words: "fail, high", holds: false };
  if (item.noteAbove !== null && item.noteAbove !== undefined && figure > item.noteAbove) {
    return { mark: "note", words: item.noteText, holds: true };
  }
  return { mark: "good", words: item.inTolerance, holds: true };
};

const byItself = (item, entry) => {
  switch (entry.outcome) {
    case "not possible":
      return { mark: "caution", words: "not possible", holds: false };
    case "let pass":
      return { mark: "caution", words: "overridden", holds: true };
    case "noted":
      return { mark: "open", words: "noted", holds: false };
  }
  if (item.kind === "measure") return judgeFigure(item, correctedOf(item, entry));
  if (item.kind === "choice" && item.goodChoices.length) {
    const good = item.goodChoices.includes(entry.choice);
    return good
      ? { mark: "good", words: "pass", holds: true }
      : { mark: "stop", words: "fail", holds: false };
  }
  return { mark: "good", words: "done", holds: true };
};

/* `record` is what the car's record says, of an item that is held against it. */
export const judge = (item, entry, record = null) => {
  const judged = byItself(item, entry);
  if (judged.mark === "stop" || !asksAboutRecord(item, entry, record)) return judged;
  return isNew(record)
    ? { mark: "caution", words: "not in the car’s record yet", holds: false }
    : { mark: "stop", words: "differs from the car’s record", holds: false };
};

export const valueText = (item, entry) => {
  if (hasFigure(entry)) return figureText(entry.measure, unitOf(item, entry.unit).decimals);
  return entry.choice || entry.text || "";
};

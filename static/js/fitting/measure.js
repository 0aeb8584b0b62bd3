/*
 * What a measured figure means: its unit, what is read beside it, what it comes to when corrected. The rule of
 * jobs/checklists/measuring.py; one table of cases holds both, tests/checklists/measure_cases.json. Factors and limits
 * come from the server.
 */

export const hasFigure = (entry) => entry.measure !== null && entry.measure !== undefined;

/* An entry of an older page names no unit: it is in the one the list is written in. */
export const unitOf = (item, name) => item.units.find(({ unit }) => unit === name) ?? item.units[0];

export const canonicalOf = (item, entry) => {
  if (!hasFigure(entry)) return null;
  const { times, over } = unitOf(item, entry.unit);
  return times === over ? entry.measure : (entry.measure * times) / over;
};

/* What is in the record keeps the height it was read at. */
const raisedBy = (item, entry) => entry.raised ?? item.raised;

const besideOf = (item, entry) => (item.beside ? (entry.beside ?? null) : null);

/* The figure that the limits are held against, in the canonical unit. */
export const correctedOf = (item, entry) => {
  const value = canonicalOf(item, entry);
  const beside = besideOf(item, entry);
  if (item.perDegree && beside !== null) return value / (1 + item.perDegree * (beside - 20));
  if (item.perLength && beside) return value / beside;
  if (item.fromIdle && beside !== null) return value - beside;
  return value + raisedBy(item, entry);
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

/* What was read beside a figure, and what it comes to: 'at 80 °C: 1.50 ohm at 20 °C'; nothing where as read. */
export const detailText = (item, entry) => {
  const beside = besideOf(item, entry);
  if (!hasFigure(entry) || (beside === null && !raisedBy(item, entry))) return "";
  const { unit, times, over, decimals } = unitOf(item, entry.unit);
  const value = correctedOf(item, entry);
  const text = `${(times === over ? value : (value * over) / times).toFixed(decimals).replace("-", "−")} ${unit} ${item.correctedTo}`;
  return beside === null ? text : `${item.beside.join} ${figureText(beside, 0)} ${item.beside.unit}: ${text}`;
};

/* The unit beside what was entered, or beside the empty place for it. */
export const unitText = (item, entry) => (hasFigure(entry) ? unitOf(item, entry.unit).unit : (item.units[0]?.unit ?? ""));

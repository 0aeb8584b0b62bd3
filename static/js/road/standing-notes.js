/* What the messages that wait say about the notes of a run: in words, and which of them still stand. */

/* 'definite pinking at 2600 rpm, 10 inHg, gear 3, full throttle: on the hill', as jobs/roadtest/actions.py writes it. */
export const inWords = (fields, { kinds, strengths, loads }) => {
  const where = [];
  const vacuum = fields.vacuum_kpa?.trim() ?? "";
  if (fields.rpm) where.push(`${fields.rpm} rpm`);
  if (vacuum) where.push(/[A-Za-z"]$/.test(vacuum) ? vacuum : `${vacuum} ${fields.vacuum_kpa_unit ?? ""}`.trimEnd());
  if (fields.gear) where.push(`gear ${fields.gear}`);
  if (fields.load) where.push(loads[fields.load]);
  let text = [strengths[fields.severity], kinds[fields.kind]].filter(Boolean).join(" ");
  if (where.length) text += `${fields.rpm ? " at" : ","} ${where.join(", ")}`;
  return fields.words ? `${text}: ${fields.words}` : text;
};

/* The notes that wait and stand: what another message places or undoes stands no more. */
export const standingNotes = (messages) => {
  const alive = messages.filter(({ state }) => state === "waiting" || state === "kept");
  const gone = new Set(alive.filter(({ message }) => message !== "note").map(({ body }) => body.entry));
  return alive.filter(({ message, id }) => message !== "undo" && !gone.has(id));
};

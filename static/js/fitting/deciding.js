/*
 * Answers that decide which other items this car has: a sheet shows an item whose fact of the car nobody knows yet, and
 * takes it off once the fact is found. Only the workshop computer knows the rules of the list.
 */

const PATIENCE_MS = 2_500;

const isWaitedFor = (items, fact) => items.some(({ unknown }) => unknown?.includes(fact));

/* Whether `body` says a fact on which other items wait. */
export const decides = (items, rows, { item, body }) =>
  body.outcome === "done" && Boolean(item.fact) && rows.get(item.key).record?.recorded === null && isWaitedFor(items, item.fact);

/* Until the workshop computer has answered: the page it then has shows other items. Without a network nobody waits. */
export const heard = (sending) => Promise.race([sending, new Promise((done) => setTimeout(done, PATIENCE_MS))]);

/* The keys of the items that wait for what was entered here and is not with the workshop computer yet. */
export const undecided = (items, rows) => {
  const found = items.filter(({ key, fact }) => fact && rows.get(key).record?.recorded === null && !rows.get(key).open).map(({ fact }) => fact);
  return new Set(items.filter(({ unknown = [] }) => unknown.some((fact) => found.includes(fact))).map(({ key }) => key));
};

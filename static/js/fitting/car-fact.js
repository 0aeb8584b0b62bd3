/*
 * What was measured against what the car's record says, while there is no network: the rule of
 * jobs/checklists/car_facts.py. The cases of both stand in tests/cases/car_facts.json.
 */

import { correctedOf } from "./measure.js";

const HAIR = 1e-9;

/* 1-3-4-2 for 1-3-4-2, 1,3,4,2, 1 3 4 2, and for 1342 where every cylinder is one digit. */
export const firingOrder = (typed) =>
  (/^[1-9]{2,9}$/.test(typed) ? [...typed] : (typed.match(/[^\s,;.–-]+/g) ?? [])).join("-");

const sameOrder = (one, other) => {
  const [first, second] = [one.split("-"), other.split("-")];
  return second.some((_, place) => [...second.slice(place), ...second.slice(0, place)].join("-") === first.join("-"));
};

/* What `entry` says of the fact; nothing where it says nothing of it. */
const measuredOf = (item, entry, { how, values }) => {
  if (item.kind === "choice") return values[entry.choice];
  if (how === "order") return firingOrder(entry.text ?? "") || undefined;
  return correctedOf(item, entry);
};

const agree = ({ how, within, margin, recorded }, measured) => {
  if (how === "order") return sameOrder(measured, recorded);
  if (how === "figure") return Math.abs(measured - recorded) <= Math.max(within * Math.abs(recorded), margin) + HAIR;
  return measured === recorded;
};

/* Whether the record says nothing yet. */
export const isNew = (record) => record.recorded === null;

/* Whether a person has to decide which of both is right. A correction that waits in the queue has decided it. */
export const differs = (item, entry, record) => {
  if (!record || entry.outcome !== "done" || record.settled === entry.id) return false;
  const measured = measuredOf(item, entry, record);
  if (measured === undefined || measured === null) return false;
  return isNew(record) || !agree(record, measured);
};

/* An empty record takes what was seen as the entry comes in; only a figure waits until somebody puts it there. */
const isTaken = (record) => isNew(record) && record.how !== "figure";

/* Whether a person has anything to decide about the record. */
export const asksAboutRecord = (item, entry, record) => differs(item, entry, record) && !isTaken(record);

/*
 * An entry at which the workshop's computer fails again and again can be set aside, so that the rest is sent. It stays on
 * this tablet as a refused one does, until its maker deals with it.
 *
 * What builds on it waits with it. A correction that came in first would stand beside what it corrects, a photograph
 * would make its entry in other words, and what was entered after a hold point would be refused.
 */

// A moment's trouble passes before anybody is asked.
const FAILURES_BEFORE_IT_IS_OFFERED = 5;

/* Whether `message` is out of the queue until a person deals with it. */
export const isApart = ({ state }) => state === "refused" || state === "set aside";

export const mayBeSetAside = ({ state, failed = 0 }) => state === "waiting" && failed >= FAILURES_BEFORE_IT_IS_OFFERED;

/* --- what becomes of a message; nothing, where it stays as it is -------------------------------------------------- */

export const failedOnceMore = (message) =>
  message.state === "waiting" && !mayBeSetAside(message) ? { ...message, failed: (message.failed ?? 0) + 1 } : undefined;

export const setAside = (message) =>
  message.state === "waiting"
    ? {
        ...message,
        state: "set aside",
        problem: "The workshop computer answered with an error each time. The entry stays on this tablet. Tell the owner, then send it again.",
      }
    : undefined;

/* One more failure, and it may be set aside again. */
export const waitingAgain = (message) =>
  isApart(message)
    ? { ...message, state: "waiting", problem: "", failed: Math.min(message.failed ?? 0, FAILURES_BEFORE_IT_IS_OFFERED - 1) }
    : undefined;

/* The question about it was answered by `choice`: sent again, and of the other answers nothing is left. */
export const answered = (message, choice) =>
  message.state === "refused"
    ? { ...message, state: "waiting", problem: "", choices: undefined, body: { ...message.body, fields: { ...message.body.fields, ...choice.fields } } }
    : undefined;

/* --- what waits with what was set aside --------------------------------------------------------------------------- */

const madeBy = ({ id, message, body, joins }) => {
  if (message !== "photograph") return id;
  return joins ? null : body.entry;
};

const buildsOn = ({ body, behind = [] }) => [...(body.replaces ?? []), ...behind, body.entry];

/* Of all `messages` in their order: those that wait for one that was set aside, each with the order of that one. */
export const waitingWith = (messages) => {
  const missing = new Map();
  const held = new Map();
  for (const message of messages) {
    let cause;
    if (message.state === "set aside") cause = message.order;
    if (message.state === "waiting") {
      cause = missing.get(buildsOn(message).find((id) => missing.has(id)));
      if (cause !== undefined) held.set(message.order, cause);
    }
    const made = madeBy(message);
    if (cause !== undefined && made) missing.set(made, cause);
  }
  return held;
};

/* Those of `maker` that can be sent now, in their order. */
export const sendable = (messages, maker) => {
  const held = waitingWith(messages);
  return messages.filter((message) => message.state === "waiting" && message.maker === maker && !held.has(message.order));
};

/* How many of `maker` would wait with `message`, if it were set aside. */
export const wouldWaitWith = (message, messages, maker) => {
  const held = waitingWith(messages.map((one) => (one === message ? setAside(one) : one)));
  return messages.filter((one) => one.maker === maker && held.get(one.order) === message.order).length;
};

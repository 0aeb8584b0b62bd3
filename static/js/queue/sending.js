/*
 * Sends the waiting messages of the person at the bench, one after the other, in their order. A message leaves the queue
 * only once the workshop computer has said that it stands in the record; whatever else happens, it stays.
 *
 * What each answer means:
 *   200            it stands in the record
 *   401            nobody is signed in: everything waits
 *   409            another person is signed in: everything waits
 *   403 413 422    refused, with a sentence: it stays and is shown until a person deals with it; the next one goes on.
 *                  With choices, the sentence is a question, and each choice one answer to it
 *   502 503 504    no answer: something in between speaks for a server that is down
 *   anything else  trouble: the workshop computer is there and fails
 * No answer and trouble alike: everything waits, and is tried again. An entry that meets a failing server (5xx) time and
 * again may be the reason for it: it can be set aside, see set-aside.js.
 */

import { allMessages, changeMessage, messageAt } from "./queue-store.js";
import { failedOnceMore, sendable } from "./set-aside.js";

const PATIENCE_MS = 20_000;
const PATIENCE_WITH_PHOTOGRAPHS_MS = 180_000;

export const csrfToken = () =>
  document.cookie
    .split("; ")
    .find((cookie) => cookie.startsWith("csrftoken="))
    ?.slice("csrftoken=".length) ?? "";

const fieldsOf = ({ id, message, maker, item, madeAt, body }) => ({
  ...body,
  id,
  message,
  maker,
  item,
  madeAt,
  sentAt: new Date().toISOString(),
});

/* How the workshop computer was reached, from an answer that is none of those that are expected. */
export const reachOf = (status) => ([502, 503, 504].includes(status) ? "no answer" : "trouble");

const requestFor = (message) => {
  const headers = { Accept: "application/json", "X-CSRFToken": csrfToken() };
  const text = JSON.stringify(fieldsOf(message));
  if (!message.photograph) return { headers: { ...headers, "Content-Type": "application/json" }, body: text };
  const form = new FormData();
  form.append("message", text);
  form.append("photograph", message.photograph, "photograph");
  return { headers, body: form };
};

const answerTo = async (message) => {
  const patience = message.photograph ? PATIENCE_WITH_PHOTOGRAPHS_MS : PATIENCE_MS;
  let response;
  try {
    response = await fetch(message.url, {
      method: "POST",
      credentials: "same-origin",
      cache: "no-store",
      redirect: "error",
      signal: AbortSignal.timeout(patience),
      ...requestFor(message),
    });
  } catch {
    return { reach: "no answer" };
  }
  const isJson = response.headers.get("Content-Type")?.startsWith("application/json") ?? false;
  const said = isJson ? await response.json().catch(() => ({})) : {};
  if (response.status === 200 && said.kept) return { reach: "ok" };
  if (response.status === 401) return { reach: "signed out" };
  if (isJson && response.status === 409) return { reach: "other person" };
  if (isJson && [403, 413, 422].includes(response.status)) return { reach: "ok", problem: said.problem, choices: said.choices };
  if (response.status === 413) return { reach: "ok", problem: "The photograph is too large." };
  if (response.status === 404) return { reach: "ok", problem: "The workshop computer does not know this job or page." };
  const reach = reachOf(response.status);
  return { reach, failed: reach === "trouble" && response.status >= 500 };
};

// Where there are no locks (plain http) one tab still minds itself.
let alone = Promise.resolve();
const oneAtATime = (work) => {
  if (navigator.locks) {
    // Two tabs with one queue: the other one is sending already, and will see what was added.
    return navigator.locks.request("crankmark-queue", { ifAvailable: true }, (lock) => (lock ? work() : undefined));
  }
  alone = alone.then(work, work);
  return alone;
};

const sendableOf = async (person) => sendable(await allMessages(), person);

/*
 * Sends all that waits for `person` and can be sent. Resolves to how the workshop computer was reached, nothing if there was nothing to do, and to
 * how many messages it has answered.
 */
export const sendQueue = (person) =>
  oneAtATime(async () => {
    let reach;
    let answered = 0;
    for (let batch = await sendableOf(person); batch.length; batch = await sendableOf(person)) {
      for (const { order } of batch) {
        const message = await messageAt(order);
        if (message?.state !== "waiting") break; // its maker dealt with it in the meantime: see anew what can be sent
        const answer = await answerTo(message);
        reach = answer.reach;
        if (answer.failed) await changeMessage(order, failedOnceMore);
        if (reach !== "ok") return { reach, answered };
        answered += 1;
        const keptAt = performance.timeOrigin + performance.now();
        const outcome = answer.problem ? { state: "refused", problem: answer.problem, choices: answer.choices } : { state: "kept", keptAt };
        await changeMessage(order, (now) => ({ ...now, ...outcome }));
      }
    }
    return { reach, answered };
  });

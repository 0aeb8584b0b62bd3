/* Says plainly what of this tablet is not in the record: waiting, refused, or another person's. */

import { button, element, mark, moment, plural, state } from "./dom.js";
import { removeMessages, storeMessage } from "./queue-store.js";

const REASONS = {
  "no answer": "The workshop’s computer does not answer; they are sent as soon as it does.",
  trouble: "The workshop’s computer answers with an error and keeps nothing. They are tried again: tell the owner.",
  "signed out": "Sign in again and they are sent.",
  "other person": "Another person is signed in by now. Load the page again.",
};

const what = (message, item) => {
  const { measure, choice, text, outcome } = message.body;
  const value = measure ?? choice ?? text;
  const said = message.message === "entry" ? [value && `${value} ${measure === undefined ? "" : (item?.unit ?? "")}`.trim(), outcome].filter(Boolean)[0] : message.message;
  return `${message.itemText}: ${said}`;
};

export const showNoQueue = (place) =>
  place.replaceChildren(
    state("stop", "This browser keeps nothing on this tablet"),
    element("span", { class: "small" }, "Perhaps it is a private window. Entries go straight to the workshop’s computer, and cannot wait here for the network."),
  );

export const isUnsent = (message) => message.state !== "kept";

export const showStatus = (place, messages, person, reach, urls) => {
  const mine = messages.filter((message) => message.maker === person.id);
  const waiting = mine.filter((message) => message.state === "waiting").length;
  const refused = mine.filter((message) => message.state === "refused").length;
  const parts = [];
  if (waiting) {
    parts.push(state("caution", `${plural(waiting, "entry", "entries")} on this tablet not sent yet`));
    parts.push(element("span", { class: "small" }, REASONS[reach] ?? "Sending."));
  }
  if (refused) parts.push(state("stop", `${plural(refused, "entry", "entries")} refused`));
  if (!waiting && !refused) parts.push(state("good", "Everything is sent"));
  if (!waiting && reach === "no answer") parts.push(element("span", { class: "small" }, "The workshop’s computer does not answer. Go on: entries wait on this tablet."));
  if (reach === "signed out") parts.push(element("a", { class: "button", href: urls.signIn }, "Sign in again"));
  if (reach === "other person") parts.push(element("a", { class: "button", href: urls.page }, "Load the page again"));
  const seen = parts.map((part) => part.textContent).join("|");
  if (place.dataset.seen === seen) return;
  place.dataset.seen = seen;
  place.replaceChildren(...parts);
};

/* `item` is the message's item, where it stands on this sheet. */
const refusedLine = (message, item, onOpen, onAgain) => {
  const drop = button("Drop this entry", () => {
    if (drop.dataset.sure !== undefined) return removeMessages([message]);
    drop.dataset.sure = "";
    drop.textContent = "Drop it for good";
    return undefined;
  }, "button-danger");
  return element(
    "div",
    { class: "sheet-refused", role: "alert" },
    element("p", {}, mark("stop"), " ", element("strong", {}, what(message, item))),
    element("p", {}, message.problem),
    element("p", { class: "small pencil" }, `${message.makerName}, ${moment(message.madeAt)} · job ${message.job}`),
    element(
      "div",
      { class: "buttons" },
      button("Send again", async () => {
        await storeMessage({ ...message, state: "waiting", problem: "" });
        onAgain();
      }),
      item ? button("Open the item", () => onOpen(item)) : message.page && element("a", { class: "button", href: message.page }, "Open its sheet"),
      drop,
    ),
  );
};

const othersLine = (name, count) =>
  element(
    "div",
    { class: "message tone-note" },
    mark("note"),
    element("p", {}, `${plural(count, "entry", "entries")} of ${name} on this tablet not sent yet. They are sent under no other name: once ${name} is at the bench.`),
  );

export const showWaiting = (place, messages, person, { itemOf, onOpen, onAgain }) => {
  const unsent = messages.filter(isUnsent);
  const refused = unsent.filter((message) => message.maker === person.id && message.state === "refused");
  const others = new Map();
  for (const message of unsent) {
    if (message.maker !== person.id) others.set(message.makerName, (others.get(message.makerName) ?? 0) + 1);
  }
  const seen = JSON.stringify([refused.map(({ order, problem }) => [order, problem]), [...others]]);
  if (place.dataset.seen === seen) return;
  place.dataset.seen = seen;
  place.replaceChildren(
    ...refused.map((message) => refusedLine(message, itemOf(message), onOpen, onAgain)),
    ...[...others].map(([name, count]) => othersLine(name, count)),
  );
};

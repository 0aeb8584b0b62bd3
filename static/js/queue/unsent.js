/* Says plainly what of this tablet is not in the record: waiting, refused, set aside, or another person's. */

import { button, element, mark, moment, plural, state } from "../fitting/dom.js";
import { changeMessage, removeMessages } from "./queue-store.js";
import { answered, isApart, mayBeSetAside, sendable, setAside, waitingAgain, waitingWith, wouldWaitWith } from "./set-aside.js";

const REASONS = {
  "no answer": "The workshop computer does not answer. They are sent when it does.",
  trouble: "The workshop computer answers with an error. They are tried again. Tell the owner.",
  "signed out": "Sign in again to send them.",
  "other person": "Someone else is signed in now. Reload the page.",
};

const CALLED = { correction: "correction of the car’s record" };
const OPENS = { strobe: "Open strobe readings", road: "Open road notes" };

/* What a message says; `said` are the words of a page that has no items. */
const what = (message, item) => {
  if (message.said) return `${message.itemText}: ${message.said}`;
  const { measure, unit, choice, text, outcome } = message.body;
  const value = measure ?? choice ?? text;
  const said = message.message === "entry" ? [value && `${value} ${measure === undefined ? "" : (unit ?? item?.units[0]?.unit ?? "")}`.trim(), outcome].filter(Boolean)[0] : (CALLED[message.message] ?? message.message);
  return `${message.itemText}: ${said}`;
};

export const showNoQueue = (place) =>
  place.replaceChildren(
    state("stop", "Nothing is kept on this tablet"),
    element("span", { class: "small" }, "Perhaps a private window. Entries cannot wait here for the network."),
  );

export const isUnsent = (message) => message.state !== "kept";

/* `ways` on: the addresses `page` and `signIn`, and `toWaiting()`, which brings what `showWaiting` shows into sight. */
export const showStatus = (place, messages, person, reach, ways) => {
  const mine = messages.filter((message) => message.maker === person.id);
  const ready = sendable(messages, person.id);
  const waiting = ready.length;
  const held = mine.filter((message) => message.state === "waiting").length - waiting;
  const asked = mine.filter((message) => message.state === "refused" && message.choices).length;
  const refused = mine.filter((message) => message.state === "refused").length - asked;
  const aside = mine.filter((message) => message.state === "set aside").length;
  const parts = [];
  if (waiting) {
    parts.push(state("caution", `${plural(waiting, "entry", "entries")} not sent yet`));
    parts.push(element("span", { class: "small" }, REASONS[reach] ?? "Sending."));
  }
  if (asked) parts.push(state("caution", `${plural(asked, "question", "questions")} to answer`));
  if (refused) parts.push(state("stop", `${plural(refused, "entry", "entries")} refused`));
  if (aside) parts.push(state("stop", `${plural(aside, "entry", "entries")} set aside`));
  if (held) parts.push(state("caution", `${plural(held, "entry waits", "entries wait")} behind it`));
  if (!waiting && !held && !asked && !refused && !aside) parts.push(state("good", "all sent"));
  if (!waiting && reach === "no answer") parts.push(element("span", { class: "small" }, "The workshop computer does not answer. Carry on: entries wait on this tablet."));
  if (asked || refused || aside || ready.slice(0, 1).some(mayBeSetAside)) parts.push(button("Show", ways.toWaiting, "button-small"));
  if (reach === "signed out") parts.push(element("a", { class: "button", href: ways.signIn }, "Sign in again"));
  if (reach === "other person") parts.push(element("a", { class: "button", href: ways.page }, "Reload page"));
  const seen = parts.map((part) => part.textContent).join("|");
  if (place.dataset.seen === seen) return;
  place.dataset.seen = seen;
  place.replaceChildren(...parts);
};

const madeWords = (message) => `${message.makerName}, ${moment(message.madeAt)} · job ${message.job}`;

/* One that is out of the queue. `item` is its item, where it stands on this sheet; `held` is how many wait with it. */
const apartLine = (message, item, held, onOpen, onAgain) => {
  const drop = button("Discard entry", () => {
    if (drop.dataset.sure !== undefined) return removeMessages([message]);
    drop.dataset.sure = "";
    drop.textContent = "Discard for good";
    return undefined;
  }, "button-danger");
  return element(
    "div",
    { class: message.choices ? "sheet-apart sheet-failing" : "sheet-apart", role: "alert" },
    element("p", {}, mark(message.choices ? "caution" : "stop"), " ", element("strong", {}, what(message, item)), message.state === "set aside" && " · set aside"),
    element("p", {}, message.problem),
    held > 0 && element("p", {}, `${plural(held, "entry waits", "entries wait")} behind it.`),
    element("p", { class: "small muted" }, madeWords(message)),
    element(
      "div",
      { class: "buttons" },
      ...(message.choices ?? []).map((choice) =>
        button(choice.words, async () => {
          await changeMessage(message.order, (now) => answered(now, choice));
          onAgain();
        }),
      ),
      !message.choices &&
        button("Send again", async () => {
          await changeMessage(message.order, waitingAgain);
          onAgain();
        }),
      item && button("Open item", () => onOpen(item)),
      !item && message.page && message.page !== location.pathname && element("a", { class: "button", href: message.page }, OPENS[message.kind] ?? "Open sheet"),
      drop,
    ),
  );
};

/* The one at which everything stands still. `held` would wait with it, `rest` would be sent. */
const failingLine = (message, item, held, rest, onAgain) =>
  element(
    "div",
    { class: "sheet-apart sheet-failing", role: "alert" },
    element("p", {}, mark("caution"), " ", element("strong", {}, what(message, item))),
    element("p", {}, `The workshop computer answers with an error each time. ${rest ? "The rest waits behind it." : "Later entries would wait."} Set aside, it stays on this tablet.`),
    held > 0 && element("p", {}, `${plural(held, "entry waits", "entries wait")} behind it.`),
    element("p", { class: "small muted" }, madeWords(message)),
    element(
      "div",
      { class: "buttons" },
      button(rest ? "Set aside and send the rest" : "Set entry aside", async () => {
        await changeMessage(message.order, setAside);
        onAgain();
      }),
    ),
  );

const othersLine = (name, count) =>
  element(
    "div",
    { class: "message tone-note" },
    mark("note"),
    element("p", {}, `${plural(count, "entry", "entries")} of ${name} not sent yet. They are sent when ${name} signs in.`),
  );

export const showWaiting = (place, messages, person, { itemOf, onOpen, onAgain }) => {
  const unsent = messages.filter(isUnsent);
  const causes = [...waitingWith(messages).values()];
  const heldBy = (message) => causes.filter((order) => order === message.order).length;
  const apart = unsent.filter((message) => message.maker === person.id && isApart(message));
  const ready = sendable(messages, person.id);
  const failing = ready.slice(0, 1).filter(mayBeSetAside);
  const wouldWait = failing.map((message) => wouldWaitWith(message, messages, person.id))[0] ?? 0;
  const rest = ready.length - 1 - wouldWait;
  const others = new Map();
  for (const message of unsent) {
    if (message.maker !== person.id) others.set(message.makerName, (others.get(message.makerName) ?? 0) + 1);
  }
  const seen = JSON.stringify([
    apart.map((message) => [message.order, message.problem, heldBy(message)]),
    failing.map(({ order }) => [order, wouldWait, rest > 0]),
    [...others],
  ]);
  if (place.dataset.seen === seen) return;
  place.dataset.seen = seen;
  place.replaceChildren(
    ...failing.map((message) => failingLine(message, itemOf(message), wouldWait, rest > 0, onAgain)),
    ...apart.map((message) => apartLine(message, itemOf(message), heldBy(message), onOpen, onAgain)),
    ...[...others].map(([name, count]) => othersLine(name, count)),
  );
};

/*
 * The sheet on a tablet. Every entry goes into this tablet's queue first and is sent from there, with or without a
 * network: there is one way, so that the way without a network is the one that is used every day.
 */

import { Bar } from "./bar.js";
import { settled } from "./copies.js";
import { decides, heard, undecided } from "./deciding.js";
import { Dock } from "./dock.js";
import { newId } from "./dom.js";
import { Lines } from "./lines.js";
import { showPast } from "./past.js";
import { addMessage, allMessages, removeMessages, watchQueue } from "../queue/queue-store.js";
import { reachOf, sendQueue } from "../queue/sending.js";
import { Sections } from "./sections.js";
import { sendable } from "../queue/set-aside.js";
import { hasFailed, nextOpen, standing } from "./standing.js";
import { looksWith, typedWith } from "./together.js";
import { keepCopy, maybeFromCopy, openWithoutNetwork, readCopy, stayAwake } from "./tablet.js";
import { isUnsent, showStatus, showWaiting } from "../queue/unsent.js";

// Others' entries are wanted within five seconds; see the view for why they are asked for and not pushed.
const ASK_EVERY_MS = 3_000;
const ASK_PATIENCE_MS = 10_000;

const root = document.querySelector("[data-sheet]");
const page = JSON.parse(document.querySelector("#sheet-data").textContent);
const { items, person, urls } = page;
// A copy that an older release left on this tablet knows only one unit of an item.
for (const item of items) {
  item.units ??= item.unit ? [{ unit: item.unit, times: 1, over: 1, decimals: item.decimals, limits: item.limits }] : [];
  item.raised ??= 0;
}

const rowsOf = standing(items);
const sheet = {
  base: page.state,
  tag: `"${page.state.version}"`,
  messages: [],
  rows: rowsOf(page.state, []),
  reach: "ok",
  skipped: new Set(),
};

// The way on that the page itself offers or takes, to sign in or to show other lines, is not asked about.
let isOffered = false;

const dockPlace = root.querySelector("[data-dock]");
const dialog = root.querySelector("[data-past]");

/* --- what is entered ------------------------------------------------------------------------------------------ */

/* The answers to the hold points before `item`: without them it would be refused. */
const answersBefore = (item) =>
  items
    .slice(0, items.indexOf(item))
    .filter((one) => one.holdPoint)
    .flatMap((one) => sheet.rows.get(one.key).heads);

const message = (item, kind, body, more = {}) => ({
  id: newId(),
  message: kind,
  job: page.job,
  kind: page.kind,
  url: urls.send,
  page: urls.page,
  maker: person.id,
  makerName: person.name,
  item: item.key,
  itemText: item.text,
  madeAt: new Date().toISOString(),
  behind: answersBefore(item),
  body,
  ...more,
});

const queue = async (...made) => {
  for (const one of made) {
    try {
      await addMessage(one);
    } catch (problem) {
      // Nothing can be kept on this tablet: say so where it cannot be missed, instead of losing an entry.
      alert(`This tablet cannot keep the entry (${problem.name}). Free some storage or write it on paper.`);
      throw problem;
    }
  }
  await reread();
  return { sending: send() };
};

const actions = {
  enterAll: async (answers) => {
    const isDecisive = answers.some((answer) => decides(items, sheet.rows, answer));
    const { sending } = await queue(...answers.map(({ item, row, body }) => message(item, "entry", { ...body, replaces: row.heads })));
    if (isDecisive) await heard(sending);
  },
  photograph: (item, row, photograph, note) => {
    const current = row.standing.at(-1);
    const isAnswer = item.kind === "photo" && (row.open || !current);
    const joins = Boolean(current) && !isAnswer; // an entry that was made before
    const entry = joins ? current.id : newId();
    return queue(message(item, "photograph", { entry, note, replaces: row.heads }, { photograph, joins }));
  },
  confirm: async (item, entry) => {
    await queue(message(item, "confirmation", { entry: entry.id }));
    actions.next([item.key]);
  },
  seconded: async (item) => {
    await ask();
    show();
    actions.next([item.key]);
  },
  keep: async (item, others) => {
    await queue(message(item, "entry", { outcome: "withdrawn", note: "another entry was kept", replaces: others }));
    actions.next([item.key]);
  },
  correct: async (item, row, entry) => {
    await queue(message(item, "correction", { entry: entry.id, seen: row.record.text }));
    actions.next([item.key]);
  },
  takeBack: async (undone) => {
    await actions.enterAll(undone.map((item) => ({ item, row: sheet.rows.get(item.key), body: { outcome: "withdrawn", note: "" } })));
    actions.again(undone[0]);
  },
  again: (item) => open(item, { settle: true }),
  next: (keys) => goOn(keys),
  typedWith: (item) => typedWith(items, sheet.rows, item),
  looksWith: (item) => looksWith(items, sheet.rows, item),
  skip: (item) => {
    sheet.skipped.add(item.key);
    goOn([item.key]);
  },
  showPast: (item) => showPast(dialog, item, sheet.rows.get(item.key)),
};

/* --- what is shown -------------------------------------------------------------------------------------------- */

const dock = page.mayRecord ? new Dock(dockPlace, actions, page) : null;

// Beside the list, or above it where there is no room: then it has to come into sight when it is taken in hand.
const isBeside = matchMedia("(min-width: 900px)");

const open = (item, { settle = false, scroll = true } = {}) => {
  const isOther = sections.open(item.section);
  lines.inHand(item.key);
  dock?.take(item, sheet.rows.get(item.key), { settle });
  if (scroll) intoSight(item, isOther);
};

/* All is laid out once, at the end: a cheap tablet takes its time for each laying out. */
const intoSight = (item, isOtherSection = false) => {
  if (dock && !isBeside.matches) return dockPlace.scrollIntoView({ block: "start" });
  if (isOtherSection) sections.scrollTo(item.section);
  return lines.scrollTo(item.key);
};

/* On from the items of `keys`, which have just been answered; none where the page begins. */
const goOn = (keys, { scroll = true } = {}) => {
  // What differs from the car's record is decided before anything else, and a hold point that failed keeps the hand.
  const asksFirst = (item, row) => hasFailed(item, row) || (keys.includes(item.key) && row.record?.differs);
  const stopped = items.find((item) => !sheet.skipped.has(item.key) && asksFirst(item, sheet.rows.get(item.key)));
  const settle = keys.length > 0; // nobody has tapped what comes up by itself at first
  if (stopped) return open(stopped, { settle, scroll });
  const next = nextOpen(items, sheet.rows, keys[0] ?? null, person.id, sheet.skipped);
  if (next) return open(next, { settle, scroll });
  if (sheet.skipped.size) {
    sheet.skipped.clear();
    const skipped = nextOpen(items, sheet.rows, null, person.id);
    if (skipped) return open(skipped, { settle, scroll });
  }
  return rest();
};

const rest = () => {
  lines.inHand(null);
  if (!isBeside.matches) dockPlace.scrollIntoView({ block: "nearest" });
  // What a later stage reads is left to that stage.
  const left = items.filter((item) => !sheet.rows.get(item.key).done && !sheet.rows.get(item.key).later && (item.required || item.kind !== "reading"));
  const hold = items.find((item) => item.holdPoint && !sheet.rows.get(item.key).holds);
  if (!left.length && !hold) complete();
  else if (hold) dock.finish(`The hold point ‘${hold.text}’ blocks the rest: ${whyHeld(sheet.rows.get(hold.key))}.`, "", { waiting: hold });
  else if (undecided(items, sheet.rows).size) dock.finish(`${left.length} left: waiting for the network.`, "");
  else dock.finish(`${left.length} left: second check needed.`, "", { waiting: left.find((item) => sheet.rows.get(item.key).waitsForSecond) });
  if (dock.waiting) dock.offerSecondCheck(sheet.rows.get(dock.waiting.key));
};

/* The way on stands on the page already, or else comes with what the workshop computer says once it has the last entry. */
const complete = () => {
  const isThere = document.querySelector(".next-action");
  dock.finish("Sheet complete.", isThere ? "" : urls.page, { done: true });
  if (!isThere) dock.offerOnward(sheet.base.onward);
};

const whyHeld = (row) => (row.waitsForSecond ? "second check needed; a PIN needs the network" : row.words);

const tapped = (item) => {
  const row = sheet.rows.get(item.key);
  if (item.kind === "tick" && row.open && !row.hold) return tickFromTheList(item, row);
  return open(item, { scroll: !isBeside.matches });
};

// A gloved thumb taps twice: the second tap is none.
let tickedAt = -Infinity;
const tickFromTheList = async (item, row) => {
  if (performance.now() - tickedAt < 450) return;
  tickedAt = performance.now();
  await actions.enterAll([{ item, row, body: { outcome: "done", note: row.note } }]);
  dock.undo = { items: [item] };
  const next = nextOpen(items, sheet.rows, item.key, person.id, sheet.skipped);
  if (next) open(next, { settle: true, scroll: false });
  else rest();
};

const lines = new Lines(root, items, {
  onTick: tapped,
  onOpen: (item) => open(item, { scroll: !isBeside.matches }),
  onHistory: actions.showPast,
  mayRecord: page.mayRecord,
});
lines.begin(sheet.rows);

const sections = new Sections(root, items, (section) => lines.writeSection(section));
const bar = new Bar(root, (item) => open(item));

const isOfThisSheet = (one) => one.job === page.job && one.kind === page.kind;
const show = () => {
  sheet.rows = rowsOf(sheet.base, sheet.messages.filter(isOfThisSheet));
  lines.show(sheet.rows);
  sections.show(sheet.rows);
  bar.show(items, sheet.rows);
  if (dock?.item) dock.refresh(sheet.rows.get(dock.item.key));
  else if (dock?.waiting) dock.offerSecondCheck(sheet.rows.get(dock.waiting.key));
  else dock?.offerOnward(sheet.base.onward);
  if (!dock?.item && dock?.place.hidden === false && nextOpen(items, sheet.rows, null, person.id)) goOn([]);
  const waitingPlace = root.querySelector("[data-waiting]");
  showStatus(root.querySelector("[data-status]"), sheet.messages, person, sheet.reach, {
    page: urls.page,
    signIn: `${urls.signIn}?next=${encodeURIComponent(urls.page)}`,
    toWaiting: () => waitingPlace.scrollIntoView({ block: "start" }),
  });
  showWaiting(waitingPlace, sheet.messages, person, {
    itemOf: (one) => isOfThisSheet(one) && items.find((item) => item.key === one.item),
    onOpen: open,
    onAgain: send,
  });
};

const reread = async () => {
  sheet.messages = await allMessages();
  show();
};

// A queue that empties changes many times a second; the page need not.
let rereading = null;
const rereadSoon = () => {
  rereading ??= setTimeout(async () => {
    await reread();
    rereading = null;
  }, 300);
};

/* --- the workshop computer ----------------------------------------------------------------------------------------------- */

/* A page that comes from this tablet's copies is older than what its last asking brought home. */
const takeLaterCopy = async () => {
  const copy = await readCopy(urls.state);
  if (!copy || copy.layout !== page.state.layout || copy.facts <= page.state.facts) return;
  sheet.base = copy;
  sheet.tag = `"${copy.version}"`;
};

const taken = (state) => {
  if (state.layout !== page.state.layout) {
    // Other lines stand on the sheet than on this page, which only a new page can show. Nothing is lost by it: the
    // queue is on the disk. While somebody types, the page waits.
    if (!dock?.holdsTyping()) {
      isOffered = true;
      location.reload();
    }
    return false;
  }
  sheet.base = state;
  return true;
};

const ask = async () => {
  const began = performance.timeOrigin + performance.now();
  let response;
  try {
    response = await fetch(urls.state, {
      cache: "no-store",
      credentials: "same-origin",
      redirect: "error",
      signal: AbortSignal.timeout(ASK_PATIENCE_MS),
      headers: { Accept: "application/json", "If-None-Match": sheet.tag },
    });
  } catch {
    sheet.reach = "no answer";
    return;
  }
  if (response.status === 401) {
    sheet.reach = "signed out";
    return;
  }
  if (response.status !== 200 && response.status !== 304) {
    sheet.reach = reachOf(response.status);
    return;
  }
  if (sheet.reach !== "other person") sheet.reach = "ok";
  if (response.status === 200) {
    const state = await response.json().catch(() => null);
    if (!state) return;
    if (!taken(state)) return;
    sheet.tag = response.headers.get("ETag");
    await keepCopy(urls.state, state);
  }
  // What the workshop computer had taken before we asked is in its answer now, and can leave the queue.
  await removeMessages((await allMessages()).filter((one) => one.state === "kept" && one.keptAt < began));
};

// One lost packet is no dead spot: try again soon, then less and less often.
const TRY_AGAIN_MS = 250;
let failures = 0;
let tryingAgain = null;

const send = async () => {
  clearTimeout(tryingAgain);
  const { reach, answered } = (await sendQueue(person.id)) ?? {};
  if (reach) sheet.reach = reach;
  if (answered) failures = 0;
  if (reach === "ok") await ask();
  if (reach === "no answer" || reach === "trouble") {
    failures += 1;
    tryingAgain = setTimeout(send, Math.min(TRY_AGAIN_MS * 2 ** (failures - 1), ASK_EVERY_MS));
  }
  await reread();
};

const askAndSend = async () => {
  if (document.hidden) return;
  await ask();
  await reread();
  if (sheet.reach === "ok" && sendable(sheet.messages, person.id).length) await send();
};

const keepAsking = async () => {
  await askAndSend();
  setTimeout(keepAsking, ASK_EVERY_MS);
};

/* --- the tablet ----------------------------------------------------------------------------------------------- */

root.querySelector("[data-status]").addEventListener("click", (event) => {
  isOffered = event.target.closest("a") !== null;
});
addEventListener("pageshow", () => {
  isOffered = false;
});
addEventListener("beforeunload", (event) => {
  const unsent = sheet.messages.some((one) => isUnsent(one) && one.maker === person.id);
  if (unsent && !isOffered) event.preventDefault();
});
document.addEventListener("visibilitychange", () => {
  stayAwake();
  if (!document.hidden) askAndSend();
});
addEventListener("online", askAndSend);
watchQueue(rereadSoon);

/* The item that the address names, or else the next open one. Cautions that were not read yet stay in sight. */
const takeFirst = () => {
  const named = items.find((item) => location.hash === `#item-${item.key}`);
  const scroll = !document.querySelector(".cautions:not(.cautions-read)");
  if (named && dock && !sheet.rows.get(named.key).done) return open(named, { scroll });
  if (dock) goOn([], { scroll: scroll && !named });
  if (!named) return;
  sections.open(named.section);
  lines.scrollTo(named.key);
};

const begin = async () => {
  await settled;
  if (maybeFromCopy()) await takeLaterCopy();
  root.querySelector(".sheet-bench").classList.toggle("has-dock", dock !== null);
  await reread();
  takeFirst();
  root.dataset.live = "";
  // What is shown is what the page brought along. Only a copy is older than the moment it was asked for.
  const atOnce = maybeFromCopy() || sendable(sheet.messages, person.id).length > 0;
  setTimeout(keepAsking, atOnce ? 0 : ASK_EVERY_MS);
  stayAwake();
  navigator.storage?.persist?.();
  // The copies can wait until somebody has begun to read; the tablet has enough to do before.
  setTimeout(async () => {
    if (await openWithoutNetwork(urls)) root.dataset.offlineReady = "";
  }, 1_000);
};

begin();

/*
 * Carries what is entered on a page: into the tablet's queue, from there to the workshop computer, and from its record
 * back onto the page. There is one way with and without a network, so that the way without one is used every day.
 *
 * The part of the page that shows the record is marked [data-found]. It is taken from the same page, asked for again
 * once something has come in; the tablet's copy of the page is renewed with it, and opens without a network.
 */

import { COPIES, settled } from "../fitting/copies.js";
import { newId } from "../fitting/dom.js";
import { addMessage, allMessages, removeMessages, watchQueue } from "./queue-store.js";
import { reachOf, sendQueue } from "./sending.js";
import { sendable } from "./set-aside.js";
import { isUnsent, showStatus, showWaiting } from "./unsent.js";

const LOOK_EVERY_MS = 3_000;
const ASK_PATIENCE_MS = 10_000;
// One lost packet is no dead spot: try again soon, then less and less often.
const TRY_AGAIN_MS = 250;

/* Whether something was typed or ticked in `place` and is not saved yet: it stays as it is until then. */
const holdsTyping = (place) =>
  [...place.querySelectorAll("input:not([type=hidden]), textarea")].some(
    (field) => field.value !== field.defaultValue || field.checked !== field.defaultChecked,
  );

/*
 * `page`: job, kind, item, itemText, person {id, name}, urls {send, page, signIn, serviceWorker}, as the view gives it.
 * `show(messages)` lays what waits of this page over it; the messages are its own, those already in the record among
 * them until the page shows the record.
 */
export const carry = (root, page, show) => {
  const { person, urls } = page;
  const status = root.querySelector("[data-status]");
  const waitingPlace = root.querySelector("[data-waiting]");
  let messages = [];
  // Another tab may have seen the record first, and emptied the queue of what this page still lacks.
  let isBehind = false;
  let reach = "ok";
  let failures = 0;
  let tryingAgain = null;
  let rereading = null;
  // The way on that the page itself offers, to sign in or to reload, is not asked about.
  let isOffered = false;

  const ofThisPage = (message) => message.page === urls.page;

  const reread = async () => {
    const before = messages.filter(ofThisPage);
    messages = await allMessages();
    const left = new Set(messages.map(({ order }) => order));
    isBehind ||= before.some(({ order }) => !left.has(order));
    show(messages.filter((message) => ofThisPage(message) && message.maker === person.id));
    showStatus(status, messages, person, reach, {
      page: urls.page,
      signIn: `${urls.signIn}?next=${encodeURIComponent(urls.page)}`,
      toWaiting: () => waitingPlace.scrollIntoView({ block: "start", behavior: "smooth" }),
    });
    showWaiting(waitingPlace, messages, person, { itemOf: () => null, onOpen: () => undefined, onAgain: send });
  };

  /* The page as the workshop computer has it now; nothing, where it could not be reached. */
  const asked = async () => {
    let response;
    try {
      response = await fetch(urls.page, {
        cache: "no-store",
        credentials: "same-origin",
        redirect: "manual",
        signal: AbortSignal.timeout(ASK_PATIENCE_MS),
      });
    } catch {
      reach = "no answer";
      return null;
    }
    if (response.type === "opaqueredirect") reach = "signed out";
    else if (response.status !== 200) reach = reachOf(response.status);
    else return response;
    return null;
  };

  const ask = async () => {
    const began = performance.timeOrigin + performance.now();
    const response = await asked();
    if (!response) return;
    const copy = response.clone();
    const fresh = new DOMParser().parseFromString(await response.text(), "text/html");
    if (fresh.body.dataset.signedIn !== document.body.dataset.signedIn) {
      reach = "other person";
      return;
    }
    reach = "ok";
    for (const place of root.querySelectorAll("[data-found]")) {
      const found = fresh.querySelector(`[data-found="${place.dataset.found}"]`);
      if (found && !holdsTyping(place)) place.replaceChildren(...found.childNodes);
    }
    isBehind = false;
    if (self.caches) await (await caches.open(COPIES)).put(urls.page, copy);
    // What the record had taken before it was asked stands on the page now.
    const seen = (await allMessages()).filter((one) => one.state === "kept" && one.keptAt < began);
    await removeMessages(seen);
    const orders = new Set(seen.map(({ order }) => order));
    messages = messages.filter(({ order }) => !orders.has(order));
  };

  async function send() {
    clearTimeout(tryingAgain);
    const sent = (await sendQueue(person.id)) ?? {};
    if (sent.reach) reach = sent.reach;
    if (sent.answered) failures = 0;
    if (sent.answered || messages.some((message) => message.state === "kept")) await ask();
    if (reach === "no answer" || reach === "trouble") {
      failures += 1;
      tryingAgain = setTimeout(send, Math.min(TRY_AGAIN_MS * 2 ** (failures - 1), LOOK_EVERY_MS));
    }
    await reread();
    // Entered while the last answer was on its way, when the queue looked empty already.
    if (sent.reach === "ok" && sendable(messages, person.id).length) await send();
  }

  const look = async () => {
    if (document.hidden) return;
    await reread();
    const hasNews = messages.some((message) => message.state === "kept") || isBehind || reach !== "ok";
    if (sendable(messages, person.id).length) await send();
    else if (hasNews) {
      await ask();
      await reread();
    }
  };

  const keepLooking = async () => {
    await look();
    setTimeout(keepLooking, LOOK_EVERY_MS);
  };

  /* Keeps what was entered, in the order given. `said` says it in words; `behind` are the ids it builds on. */
  const enter = async (...entered) => {
    for (const { message, said, body, behind = [], id = newId() } of entered) {
      try {
        await addMessage({
          id,
          message,
          job: page.job,
          kind: page.kind,
          url: urls.send,
          page: urls.page,
          maker: person.id,
          makerName: person.name,
          item: page.item,
          itemText: page.itemText,
          madeAt: new Date().toISOString(),
          behind,
          body,
          said,
        });
      } catch (problem) {
        alert(`This tablet cannot keep the entry (${problem.name}). Free some storage or write it on paper.`);
        throw problem;
      }
    }
    await reread();
    send();
  };

  const openWithoutNetwork = async () => {
    if (!("serviceWorker" in navigator)) return;
    try {
      await navigator.serviceWorker.register(urls.serviceWorker);
      const { active } = await navigator.serviceWorker.ready;
      active.postMessage({ keep: urls.page });
      root.dataset.offlineReady = "";
    } catch {
      // Plain http, or a browser that forbids it: the queue works, only the page does not open without a network.
    }
  };

  const stayAwake = async () => {
    if (!navigator.wakeLock || document.hidden) return;
    try {
      await navigator.wakeLock.request("screen");
    } catch {
      // The battery is low, or the device forbids it: the screen goes dark as it always did.
    }
  };

  status.addEventListener("click", (event) => {
    isOffered = event.target.closest("a") !== null;
  });
  addEventListener("pageshow", () => {
    isOffered = false;
  });
  addEventListener("beforeunload", (event) => {
    if (!isOffered && messages.some((one) => isUnsent(one) && one.maker === person.id)) event.preventDefault();
  });
  document.addEventListener("visibilitychange", () => {
    stayAwake();
    look();
  });
  addEventListener("online", look);
  // A queue that empties changes many times a second; the page need not.
  watchQueue(() => {
    rereading ??= setTimeout(async () => {
      rereading = null;
      await reread();
    }, 300);
  });

  const begin = async () => {
    await settled;
    navigator.storage?.persist?.();
    await reread();
    stayAwake();
    await ask();
    await reread();
    root.dataset.live = "";
    openWithoutNetwork();
    keepLooking();
  };

  begin();
  return { enter };
};

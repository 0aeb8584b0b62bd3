/* What the tablet itself does for the sheet: its screen stays on, and its copies open the page without a network. */

import { COPIES } from "./copies.js";

export const stayAwake = async () => {
  if (!navigator.wakeLock || document.hidden) return;
  try {
    await navigator.wakeLock.request("screen");
  } catch {
    // The battery is low, or the device forbids it: the screen goes dark as it always did.
  }
};

/* Whether the page opens without a network from now on. */
export const openWithoutNetwork = async ({ serviceWorker, page }) => {
  if (!("serviceWorker" in navigator)) return false;
  try {
    await navigator.serviceWorker.register(serviceWorker);
    const { active } = await navigator.serviceWorker.ready;
    active.postMessage({ keep: page });
    return true;
  } catch {
    // Plain http, or a browser that forbids it: the queue works, only the page does not open without a network.
    return false;
  }
};

/* Whether this page may have come from a copy: without a service worker it cannot. */
export const maybeFromCopy = () => Boolean(navigator.serviceWorker?.controller);

const copies = async () => (self.caches ? caches.open(COPIES) : null);

export const keepCopy = async (url, state) => {
  const cache = await copies();
  await cache?.put(url, new Response(JSON.stringify(state), { headers: { "Content-Type": "application/json" } }));
};

/* What the last asking brought home; nothing where there is none. */
export const readCopy = async (url) => {
  try {
    return await (await (await copies())?.match(url))?.json();
  } catch {
    return undefined;
  }
};

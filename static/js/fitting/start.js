/*
 * Begins the sheet, where the browser can keep a queue. One that keeps nothing (a private window, storage switched off)
 * leaves the page as it is without script: there every entry goes straight to the workshop computer.
 */

import { allMessages } from "../queue/queue-store.js";
import { showNoQueue } from "../queue/unsent.js";

const keepsQueue = await allMessages().then(
  () => true,
  () => false,
);
if (keepsQueue) await import("./sheet.js");
else showNoQueue(document.querySelector("[data-status]"));

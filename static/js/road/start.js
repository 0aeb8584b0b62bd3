/*
 * Begins the passenger's page, where the browser can keep a queue. One that keeps nothing leaves the page as it is
 * without script: there every note goes straight to the workshop computer.
 */

import { keepsQueue } from "../queue/keeps.js";
import { showNoQueue } from "../queue/unsent.js";

if (keepsQueue) await import("./notes.js");
else showNoQueue(document.querySelector("[data-status]"));

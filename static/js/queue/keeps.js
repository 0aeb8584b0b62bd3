/* Whether this browser keeps a queue at all; one that keeps nothing (a private window) does not. */

import { allMessages } from "./queue-store.js";

export const keepsQueue = await allMessages().then(
  () => true,
  () => false,
);

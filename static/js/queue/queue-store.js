/*
 * The messages that wait on this tablet, in the order in which they were made, in IndexedDB: they outlive a killed tab,
 * an empty battery and an expired sign-in.
 *
 * A tablet keeps its store through an upgrade of the workshop's computer, and what waits in it is sent: a message names
 * its own address and kind, and says what its page knew. Whoever changes the store raises VERSION and carries the
 * messages over in `lay`, from every version that was ever out.
 */

const NAME = "crankmark-queue";
const STORE = "messages";
const VERSION = 1;

const lay = (db, from) => {
  if (from >= 1) return;
  const store = db.createObjectStore(STORE, { keyPath: "order", autoIncrement: true });
  store.createIndex("id", "id", { unique: true });
};

let opened;

const database = () => {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = ({ oldVersion }) => lay(request.result, oldVersion);
    request.onsuccess = () => {
      request.result.onversionchange = () => request.result.close();
      resolve(request.result);
    };
    request.onerror = () => {
      opened = undefined;
      reject(request.error);
    };
  });
  return opened;
};

const run = async (mode, work) => {
  const db = await database();
  return new Promise((resolve, reject) => {
    // "strict": the promise is kept once the message is on the disk, not once it is in some buffer.
    const transaction = db.transaction(STORE, mode, { durability: "strict" });
    const request = work(transaction.objectStore(STORE));
    transaction.oncomplete = () => resolve(request.result);
    transaction.onerror = () => reject(transaction.error);
    transaction.onabort = () => reject(transaction.error);
  });
};

const channel = self.BroadcastChannel ? new BroadcastChannel(NAME) : null;
const listeners = new Set();

const changed = () => {
  channel?.postMessage("changed");
  for (const listener of listeners) listener();
};

channel?.addEventListener("message", () => {
  for (const listener of listeners) listener();
});

/* Calls `listener` whenever the queue changes, in this tab or another one. */
export const watchQueue = (listener) => listeners.add(listener);

export const addMessage = async (message) => {
  const order = await run("readwrite", (store) => store.add({ state: "waiting", problem: "", ...message }));
  changed();
  return order;
};

export const allMessages = () => run("readonly", (store) => store.getAll());

/*
 * Keeps what `change` makes of the message at `order` as it is now; nothing, if it is gone or `change` gives nothing
 * back. Whatever a person does with it while it is on its way is seen, and not undone.
 */
export const changeMessage = async (order, change) => {
  await run("readwrite", (store) => {
    const asked = store.get(order);
    asked.onsuccess = () => {
      const next = asked.result && change(asked.result);
      if (next) store.put(next);
    };
    return asked;
  });
  changed();
};

export const messageAt = (order) => run("readonly", (store) => store.get(order));

export const removeMessages = async (messages) => {
  if (!messages.length) return;
  await run("readwrite", (store) => messages.map((message) => store.delete(message.order)).at(-1));
  changed();
};

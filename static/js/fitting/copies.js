/*
 * The copies of sheets that a tablet keeps for a dead spot belong to the person they were shown to. Whenever the person
 * at the bench is another one, or nobody, they are thrown away. The queue of unsent entries is none of these copies.
 */

export const COPIES = "crankmark-pages";
const KEY = "crankmark.copies-of";

const drop = async () => {
  if (self.caches) await caches.delete(COPIES); // there are no copies where the page is not reached over https
};

const remembered = () => {
  try {
    return localStorage.getItem(KEY);
  } catch {
    return null; // storage is forbidden: better no copy than somebody else's
  }
};

const remember = (person) => {
  try {
    localStorage.setItem(KEY, person);
  } catch {
    // See above.
  }
};

const person = document.body.dataset.signedIn ?? "";

export const settled = (async () => {
  if (remembered() === person) return;
  await drop();
  remember(person);
})();

document.addEventListener("submit", (event) => {
  if (new URL(event.target.action, location.href).pathname.endsWith("/sign-out/")) drop();
});

/*
 * A form that is sent while the workshop computer does not answer would be gone with its page. So it is asked now and then
 * while something is typed. Where it did not answer it is asked once more before the form goes; if it still does not, the
 * page stays, says so, and can be sent again.
 */

const PATIENCE_MS = 6_000;
const EVERY_MS = 8_000;
const SLOW_MS = 1_500; // an answer that is waited for so long is in doubt

const place = document.querySelector("#connection");
const words = document.querySelector("#no-answer");
const typedIn = new WeakSet(); // forms
const waiting = new WeakSet(); // forms that go once they are answered
const cleared = new WeakSet(); // forms that go this time
let answered = true;
let asking = null;

const ask = () => (asking ??= { since: performance.now(), answer: answer() }).answer;

const answer = async () => {
  answered = await fetch(words.dataset.ask, { cache: "no-store", signal: AbortSignal.timeout(PATIENCE_MS) }).then(
    (response) => response.ok,
    () => false,
  );
  asking = null;
  return answered;
};

const isInDoubt = () => !navigator.onLine || !answered || (asking !== null && performance.now() - asking.since > SLOW_MS);

const send = (form, submitter) => {
  cleared.add(form);
  form.requestSubmit(submitter?.form === form ? submitter : null);
};

const stay = (form) => {
  place.replaceChildren(words.content.cloneNode(true));
  form.dispatchEvent(new Event("not-sent", { bubbles: true }));
};

const askFirst = async (event) => {
  const { target: form, submitter } = event;
  if (event.defaultPrevented || form.method !== "post" || cleared.delete(form) || !isInDoubt()) return;
  event.preventDefault();
  if (waiting.has(form)) return;
  waiting.add(form);
  submitter?.setAttribute("aria-busy", "true");
  const goes = await answer(); // anew: one that is under way may have been given before
  waiting.delete(form);
  submitter?.removeAttribute("aria-busy");
  if (!goes) return stay(form);
  place.replaceChildren();
  send(form, submitter);
};

const typed = ({ target: { form } }) => {
  if (form?.method !== "post" || typedIn.has(form)) return;
  typedIn.add(form);
  watch(form);
};

const watch = (form) => {
  if (!form.isConnected) return;
  if (document.visibilityState === "visible") ask();
  setTimeout(watch, EVERY_MS, form);
};

if (place && words?.dataset.ask) {
  document.addEventListener("input", typed);
  // A finger goes down a moment before it sends.
  document.addEventListener("pointerdown", ({ target }) => target.closest("form[method=post] [type=submit]") && ask());
  addEventListener("online", ask);
  // At the window, after all others: what the queue of a tablet or htmx takes by itself is none of ours.
  addEventListener("submit", askFirst);
}

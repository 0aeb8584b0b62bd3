/*
 * A form that is sent while the workshop computer does not answer would be gone with its page. So it is asked first, and
 * where it does not answer the page stays as it is, says so, and can be sent again.
 *
 * At the window, after all others: what the queue of a tablet or htmx takes by itself is none of ours.
 */

const PATIENCE_MS = 6_000;
const asked = new WeakSet(); // forms that wait for the answer
const cleared = new WeakSet(); // forms that go this time

const place = document.querySelector("#connection");
const words = document.querySelector("#no-answer");

const answers = () =>
  fetch(words.dataset.ask, { cache: "no-store", signal: AbortSignal.timeout(PATIENCE_MS) }).then(
    (response) => response.ok,
    () => false,
  );

const isOurs = (event) => !event.defaultPrevented && event.target.method === "post" && !cleared.delete(event.target);

const send = (form, submitter) => {
  cleared.add(form);
  if (submitter?.form === form) form.requestSubmit(submitter);
  else form.requestSubmit();
};

const stay = (form) => {
  place.replaceChildren(words.content.cloneNode(true));
  form.dispatchEvent(new Event("not-sent", { bubbles: true }));
};

const askFirst = async (event) => {
  const { target: form, submitter } = event;
  if (!isOurs(event)) return;
  event.preventDefault();
  if (asked.has(form)) return;
  asked.add(form);
  submitter?.setAttribute("aria-busy", "true");
  const answered = await answers();
  asked.delete(form);
  submitter?.removeAttribute("aria-busy");
  if (!answered) return stay(form);
  place.replaceChildren();
  send(form, submitter);
};

if (place && words?.dataset.ask) addEventListener("submit", askFirst);

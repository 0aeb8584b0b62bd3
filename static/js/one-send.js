/* A form is sent once, however often it is tapped. */

const RELEASE_AFTER_MS = 20_000; // no answer may come
const sending = new WeakMap();

const release = (form) => {
  clearTimeout(sending.get(form));
  sending.delete(form);
  for (const button of buttonsOf(form)) button.removeAttribute("aria-busy");
};

const buttonsOf = (form) => [...form.elements].filter((element) => element.type === "submit");

const hold = (form, submitter) => {
  sending.set(
    form,
    setTimeout(() => release(form), RELEASE_AFTER_MS),
  );
  submitter?.setAttribute("aria-busy", "true");
};

document.addEventListener(
  "submit",
  (event) => {
    const form = event.target;
    if (form.method !== "post" && !isHtmx(form)) return;
    if (sending.has(form)) {
      event.preventDefault();
      event.stopImmediatePropagation();
      return;
    }
    hold(form, event.submitter);
    // Another listener may still call the sending off (htmx does, to send by itself and report below).
    setTimeout(() => {
      if (event.defaultPrevented && !isHtmx(form)) release(form);
    }, 0);
  },
  true,
);

const isHtmx = (form) => form.matches("[hx-post], [hx-put], [hx-patch]");

for (const name of ["htmx:afterRequest", "htmx:sendError", "htmx:abort", "htmx:validation:halted"]) {
  document.addEventListener(name, (event) => {
    const form = event.detail?.elt?.closest?.("form");
    if (form) release(form);
  });
}

// Back button: the page returns as it was left, in the middle of a sending that is over.
addEventListener("pageshow", (event) => {
  if (!event.persisted) return;
  for (const form of document.forms) release(form);
});

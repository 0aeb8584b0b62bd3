/*
 * Keeps what is typed until it is stored: through a dropped network, a reload, a session that ran out.
 *
 * A form that says so, with a name of its own on this site (<form data-keep="26-0042-note">), keeps it from the first
 * letter; every other form of a signed-in person from its sending on, until that is answered.
 *
 * In the tab's own storage: a shared tablet forgets with the tab. Never passwords, PINs, files and hidden fields, nor what
 * says so (data-never-kept): a tick that is true of this one time alone. Dropped when its sending was answered by a
 * redirect to a page of a signed-in person, which is how this site answers what it has stored. Any other end leaves it:
 * no answer, an error page (which loads this module for that reason), the sign-in page.
 */

const PREFIX = "crankmark.kept.";

const storage = (() => {
  try {
    sessionStorage.setItem(PREFIX, "");
    sessionStorage.removeItem(PREFIX);
    return sessionStorage;
  } catch {
    return null; // forbidden or full: nothing outlives the page
  }
})();

const read = (key) => {
  try {
    return JSON.parse(storage.getItem(key));
  } catch {
    return null;
  }
};

const write = (key, kept) => {
  try {
    storage.setItem(key, JSON.stringify(kept));
  } catch {
    // Full: what is on the page stays there.
  }
};

const isKept = (field) =>
  Boolean(field.name) &&
  !field.disabled &&
  !field.readOnly &&
  !("neverKept" in field.dataset) &&
  !["hidden", "password", "file", "submit", "button", "reset"].includes(field.type) &&
  field.autocomplete !== "one-time-code";

const isTick = (field) => field.type === "checkbox" || field.type === "radio";

const valueOf = (field) => {
  if (isTick(field)) return field.checked;
  if (field instanceof HTMLSelectElement) return [...field.selectedOptions].map(({ value }) => value);
  return field.value;
};

const setValue = (field, value) => {
  if (isTick(field)) field.checked = value;
  else if (field instanceof HTMLSelectElement) {
    for (const option of field.options) option.selected = value.includes(option.value);
  } else field.value = value;
};

const slots = (form) => {
  const seen = new Map();
  return [...form.elements].filter(isKept).map((field) => {
    const name = isTick(field) ? `${field.name}=${field.value}` : field.name;
    const nth = seen.get(name) ?? 0;
    seen.set(name, nth + 1);
    return [`${name}#${nth}`, field];
  });
};

const snapshot = (form) => Object.fromEntries(slots(form).map(([slot, field]) => [slot, valueOf(field)]));

const isSignedIn = "signedIn" in document.body.dataset;

/* What is kept from its sending on only: nothing of forms that prove who somebody is, and none of htmx's. */
const isKeptOnceSent = (form) =>
  isSignedIn &&
  form.method === "post" &&
  !form.matches("[hx-post], [hx-put], [hx-patch]") &&
  !form.querySelector("[type=password]") &&
  slots(form).length > 0;

const isWatched = (form) => Boolean(form.dataset.keep) || isKeptOnceSent(form);

const placeOf = (form) => new URL(form.getAttribute("action") || location.href, location.href).pathname;

/* The page that refuses a form may have another address than the one it was sent from: its action is the same. */
const keyOf = (form) => {
  if (form.dataset.keep) return PREFIX + form.dataset.keep;
  const place = placeOf(form);
  const alike = [...document.forms].filter((one) => placeOf(one) === place);
  return `${PREFIX}sent ${place} ${alike.indexOf(form)}`;
};

/*
 * The ids by which what is sent twice is one. An answer may be lost on its way back: sent once more as it was, it goes
 * under the ids that it had; with another word in it, it is something else.
 */
const UUID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;
const SAME_FOR_MS = 3_600_000; // later the same words are meant anew
const restored = new WeakMap();
const idFields = (form) =>
  [...form.elements].filter(({ type, name, value }) => type === "hidden" && /(^|-)(id|idempotency_key)$/.test(name) && UUID.test(value));

const keepSent = (form) => {
  const values = snapshot(form);
  const before = restored.get(form);
  const at = Date.now();
  if (before?.once && at - before.at < SAME_FOR_MS && JSON.stringify(before.values) === JSON.stringify(values)) {
    for (const field of idFields(form)) field.value = before.ids?.[field.name] ?? field.value;
  }
  const ids = Object.fromEntries(idFields(form).map(({ name, value }) => [name, value]));
  write(keyOf(form), { at, sent: true, page: here(), values, ids, once: !form.dataset.keep });
};

const clock = (milliseconds) =>
  new Intl.DateTimeFormat("en-GB", { weekday: "long", hour: "2-digit", minute: "2-digit" }).format(milliseconds);

const announce = (form, kept, asServed) => {
  const note = document.querySelector("#kept-text")?.content.firstElementChild.cloneNode(true);
  if (!note) return;
  note.querySelector("[data-kept-since]").textContent = clock(kept.at);
  note.querySelector("[data-kept-drop]").addEventListener("click", () => {
    for (const [slot, field] of slots(form)) if (slot in asServed) setValue(field, asServed[slot]);
    storage.removeItem(keyOf(form));
    restored.delete(form);
    note.remove();
    form.dispatchEvent(new Event("input", { bubbles: false }));
  });
  form.before(note);
};

const putBack = (form) => {
  const kept = read(keyOf(form));
  if (!kept) return;
  write(keyOf(form), { ...kept, sent: false });
  restored.set(form, kept);
  const asServed = snapshot(form);
  let changed = false;
  for (const [slot, field] of slots(form)) {
    if (!(slot in kept.values)) continue;
    if (JSON.stringify(kept.values[slot]) === JSON.stringify(valueOf(field))) continue;
    setValue(field, kept.values[slot]);
    changed = true;
  }
  if (changed) announce(form, kept, asServed);
};

const here = () => location.href.split("#")[0];

const settleSent = () => {
  const [arrival] = performance.getEntriesByType("navigation");
  const redirected = arrival?.redirectCount > 0 && isSignedIn;
  // A page that shows the form again, refused or to be looked over, has all that was sent.
  const shown = isSignedIn && !["back_forward", "reload"].includes(arrival?.type);
  for (const key of Object.keys(storage).filter((name) => name.startsWith(PREFIX))) {
    const kept = read(key);
    if (!kept?.sent) continue;
    // The referrer tells the answer to that sending from a later visit by another way.
    if ((redirected || (kept.once && shown)) && document.referrer === kept.page) storage.removeItem(key);
    else write(key, { ...kept, sent: false });
  }
};

const keptForm = (event) => {
  const form = (event.detail?.elt ?? event.target)?.closest?.("form");
  return form && isWatched(form) ? form : null;
};

if (storage) {
  settleSent();
  for (const form of document.forms) if (isWatched(form)) putBack(form);

  document.addEventListener("input", (event) => {
    const form = event.target.form;
    if (form?.dataset.keep) write(keyOf(form), { at: Date.now(), sent: false, values: snapshot(form) });
  });

  // After all others: what a tablet's queue takes is kept there.
  addEventListener("submit", (event) => {
    const form = keptForm(event);
    if (form && (form.dataset.keep || !event.defaultPrevented)) keepSent(form);
  });

  // The page is still here, and so is what was typed.
  document.addEventListener("not-sent", ({ target: form }) => {
    const kept = isWatched(form) ? read(keyOf(form)) : null;
    if (kept) write(keyOf(form), { ...kept, sent: false });
  });

  document.addEventListener("htmx:afterRequest", (event) => {
    const form = keptForm(event);
    if (form && event.detail.successful) storage.removeItem(keyOf(form));
  });

  document.addEventListener("htmx:load", (event) => {
    const loaded = event.detail.elt;
    if (loaded === document.body) return;
    const forms = loaded.matches("form[data-keep]") ? [loaded] : loaded.querySelectorAll("form[data-keep]");
    for (const form of forms) putBack(form);
  });
}

/*
 * What is typed while the answer to the sending before is still under way survives the answer: the fresh form that comes
 * with it takes over every box that was touched since, and the caret stays where it was.
 *
 * For forms that htmx sends and puts anew. Hidden fields, files and passwords are never carried over.
 */

// The words of each box when its form was sent.
const sent = new WeakMap();
// What has to be put back after the answer is in the page.
let carried = null;

const isTyped = (field) =>
  Boolean(field.name) && !["hidden", "password", "file", "submit", "button", "reset"].includes(field.type);

const isTick = (field) => field.type === "checkbox" || field.type === "radio";

const valueOf = (field) => (isTick(field) ? field.checked : field.value);

const typedFields = (form) => [...form.elements].filter(isTyped);

/* A tick is told by its value too: radio buttons share a name. */
const nameOf = (field) => JSON.stringify([field.name, isTick(field) ? field.value : ""]);

const waysOf = (form) => form.getAttribute("hx-post") ?? form.action;

const caretOf = (field) => {
  try {
    return [field.selectionStart, field.selectionEnd];
  } catch {
    return null; // a field that has no caret
  }
};

const touchedIn = (form) => {
  const before = sent.get(form);
  const touched = typedFields(form).filter((field) => before.get(nameOf(field)) !== valueOf(field));
  const focused = form.contains(document.activeElement) && isTyped(document.activeElement) ? document.activeElement : null;
  return {
    way: waysOf(form),
    values: touched.map((field) => [nameOf(field), valueOf(field)]),
    focus: focused && touched.length ? { name: nameOf(focused), caret: caretOf(focused) } : null,
  };
};

document.addEventListener("htmx:beforeRequest", ({ detail: { elt } }) => {
  if (!(elt instanceof HTMLFormElement)) return;
  sent.set(elt, new Map(typedFields(elt).map((field) => [nameOf(field), valueOf(field)])));
});

document.addEventListener("htmx:beforeSwap", ({ detail: { requestConfig } }) => {
  const form = requestConfig?.elt;
  carried = form instanceof HTMLFormElement && form.isConnected && sent.has(form) ? touchedIn(form) : null;
});

document.addEventListener("htmx:afterSettle", () => {
  const back = carried;
  carried = null;
  if (!back?.values.length) return;
  const form = [...document.forms].find((one) => waysOf(one) === back.way);
  if (!form) return;
  const fields = new Map(typedFields(form).map((field) => [nameOf(field), field]));
  for (const [name, value] of back.values) {
    const field = fields.get(name);
    if (!field) continue;
    if (isTick(field)) field.checked = value;
    else field.value = value;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }
  const focused = back.focus && fields.get(back.focus.name);
  if (!focused) return;
  focused.focus();
  if (back.focus.caret) focused.setSelectionRange(...back.focus.caret);
});

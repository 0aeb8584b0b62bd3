/*
 * What is typed while an answer is under way survives it: the fresh form takes over every box touched since, and the
 * caret. Hidden fields, files and passwords are never carried over.
 */

const sent = new WeakMap(); // by form, its boxes as sent
let carried = null; // to be put back

const isTyped = (field) =>
  Boolean(field.name) && !["hidden", "password", "file", "submit", "button", "reset"].includes(field.type);

const isTick = (field) => field.type === "checkbox" || field.type === "radio";

const valueOf = (field) => (isTick(field) ? field.checked : field.value);

const typedFields = (form) => [...form.elements].filter(isTyped);

/* Radio buttons share a name. */
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

/* Asks before a changed form is left. For forms that say so: <form data-warn-leaving>. */

const stored = new WeakSet();
let goingOn = false;

const fieldChanged = (field) => {
  if (!field.name || field.type === "hidden" || field.type === "submit") return false;
  if (field.type === "checkbox" || field.type === "radio") return field.checked !== field.defaultChecked;
  if (field instanceof HTMLSelectElement) {
    const options = [...field.options];
    // Where the page names no choice the browser takes the first, which is nobody's change.
    if (!field.multiple && !options.some((option) => option.defaultSelected)) return field.selectedIndex > 0;
    return options.some((option) => option.selected !== option.defaultSelected);
  }
  return "defaultValue" in field && field.value !== field.defaultValue;
};

const isUnstored = (form) => {
  if (stored.has(form)) return false;
  // A refused form comes back filled in: its values are the page's own, and still stored nowhere.
  return form.querySelector("[aria-invalid='true']") !== null || [...form.elements].some(fieldChanged);
};

const watched = () => [...document.querySelectorAll("form[data-warn-leaving]")];

addEventListener("beforeunload", (event) => {
  if (!goingOn && watched().some(isUnstored)) event.preventDefault();
});

document.addEventListener("submit", (event) => {
  setTimeout(() => {
    goingOn = !event.defaultPrevented;
  }, 0);
  if (!event.defaultPrevented) goingOn = true;
});

document.addEventListener("input", (event) => {
  goingOn = false;
  if (event.target.form) stored.delete(event.target.form);
});

document.addEventListener("htmx:afterRequest", (event) => {
  const form = event.detail.elt?.closest?.("form");
  if (form && event.detail.successful) stored.add(form);
});

addEventListener("pageshow", () => {
  goingOn = false;
});

/* The ticks of a key-in sheet, kept on this device: the unit is keyed in with the tablet put down in between. */

const sheet = document.querySelector("[data-key-in]");
const ticks = sheet ? [...sheet.querySelectorAll("[data-line]")] : [];
const key = `crankmark.key-in.${sheet?.dataset.keyIn}`;

const store = () => {
  try {
    localStorage.setItem(key, JSON.stringify(ticks.filter((tick) => tick.checked).map((tick) => tick.dataset.line)));
  } catch {
    // Full or forbidden: the ticks last as long as the page.
  }
};

const show = (selector, action) => {
  const button = document.querySelector(selector);
  if (!button) return;
  button.hidden = false;
  button.addEventListener("click", action);
};

if (sheet) {
  try {
    const kept = new Set(JSON.parse(localStorage.getItem(key)) ?? []);
    for (const tick of ticks) tick.checked = kept.has(tick.dataset.line);
  } catch {
    // Nothing was kept.
  }
  sheet.addEventListener("change", store);
  show("[data-clear-ticks]", () => {
    for (const tick of ticks) tick.checked = false;
    store();
  });
  show("[data-print]", () => window.print());
}

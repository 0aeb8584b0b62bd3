/* A fold that stays as it was left on this device: <details data-fold="several-readings">. */

const PREFIX = "crankmark.fold.";

for (const fold of document.querySelectorAll("details[data-fold]")) {
  const key = PREFIX + fold.dataset.fold;
  try {
    if (localStorage.getItem(key) === "open") fold.open = true;
    fold.addEventListener("toggle", () => localStorage.setItem(key, fold.open ? "open" : "shut"));
  } catch {
    // Nothing may be kept here: the fold works as any other.
  }
}

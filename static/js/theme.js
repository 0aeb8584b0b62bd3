/* Paper by day, slate by night: the device decides until somebody chooses. Loaded before the styles, so nothing flashes. */
(() => {
  "use strict";
  const KEY = "crankmark.theme";

  const chosen = () => {
    try {
      return localStorage.getItem(KEY) ?? "";
    } catch {
      return ""; // storage is forbidden in this browser: the device decides
    }
  };

  const show = (theme) => {
    if (theme === "light" || theme === "dark") document.documentElement.dataset.theme = theme;
    else delete document.documentElement.dataset.theme;
  };

  const keep = (theme) => {
    try {
      if (theme) localStorage.setItem(KEY, theme);
      else localStorage.removeItem(KEY);
    } catch {
      // Shown all the same, only not remembered.
    }
  };

  show(chosen());

  document.addEventListener("DOMContentLoaded", () => {
    const choice = document.querySelector("[data-theme-choice]");
    if (!choice) return;
    choice.hidden = false;
    for (const input of choice.querySelectorAll("input")) input.checked = input.value === chosen();
    choice.addEventListener("change", (event) => {
      keep(event.target.value);
      show(event.target.value);
    });
  });

  // Another tab of the same browser chose.
  addEventListener("storage", (event) => {
    if (event.key === KEY) show(event.newValue ?? "");
  });
})();

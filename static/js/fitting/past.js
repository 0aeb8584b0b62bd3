/* The history of one item, one tap away, also without a network. */

import { button, element, state } from "./dom.js";

const pastLine = (past) =>
  element(
    "li",
    { class: past.stands ? null : "is-superseded" },
    element(
      "p",
      {},
      state(past.mark, past.words),
      past.value && element("strong", {}, ` ${past.value}`),
      past.unit && element("span", { class: "unit" }, ` ${past.unit}`),
      past.detail && element("span", {}, ` ${past.detail}`),
      !past.stands && !past.takenBack && element("span", { class: "muted" }, " corrected later"),
    ),
    element(
      "p",
      { class: "small muted" },
      [past.by, past.device, past.made && `made ${past.made}`, past.received !== past.made && `received ${past.received}`, past.second, past.unsent && "not sent yet"]
        .filter(Boolean)
        .join(" · "),
    ),
    past.note && element("p", {}, `‘${past.note}’`),
  );

export const showPast = (dialog, item, row) => {
  const entries = [...row.history].reverse().map(pastLine);
  dialog.replaceChildren(
    element("div", { class: "past-head" }, element("h2", {}, item.text), button("Close", () => dialog.close())),
    entries.length ? element("ol", { class: "past-entries" }, ...entries) : element("p", { class: "muted" }, "No entries yet."),
  );
  dialog.showModal();
};

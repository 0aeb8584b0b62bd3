/* A pad of large keys for measured figures. The tablet's own keyboard stays away; a physical one types into the field. */

import { element } from "./dom.js";

const KEYS = ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "back"];

const typed = (input, key) => {
  if (key === "back") return input.value.slice(0, -1);
  if (key === "sign") return input.value.startsWith("-") ? input.value.slice(1) : `-${input.value}`;
  if (key === "." && /[.,]/.test(input.value)) return input.value;
  return input.value + key;
};

const NAMES = { back: "Delete the last digit", sign: "Change the sign", ".": "Decimal point" };
const SIGNS = { back: "⌫", sign: "±" };

/* `inHand` gives the field that the keys type into. */
export const numberPad = (inHand, { negative }) => {
  const press = (key) => {
    const input = inHand();
    input.value = typed(input, key).slice(0, 12);
    input.dispatchEvent(new Event("input", { bubbles: true }));
  };
  const keys = negative ? [...KEYS, "sign"] : KEYS;
  return element(
    "div",
    { class: "pad", role: "group", "aria-label": "Number pad" },
    ...keys.map((key) =>
      element("button", { type: "button", data: { key }, "aria-label": NAMES[key], onclick: () => press(key) }, SIGNS[key] ?? key),
    ),
  );
};

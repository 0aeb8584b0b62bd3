/* Small pieces of page, made without any markup in strings. */

export const element = (name, properties = {}, ...children) => {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(properties)) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (key === "class") made.className = value;
    else if (key === "data") Object.assign(made.dataset, value);
    else if (key in made && typeof value !== "string") made[key] = value;
    else made.setAttribute(key, value === true ? "" : value);
  }
  return fill(made, ...children);
};

/* Puts `children` in place of what `place` holds; those that are nothing are left out. */
export const fill = (place, ...children) => {
  place.replaceChildren(...children.filter((child) => child !== null && child !== undefined && child !== false && child !== ""));
  return place;
};

export const mark = (kind) =>
  document.querySelector(`template[data-mark="${kind}"]`).content.firstElementChild.cloneNode(true);

export const state = (kind, words) =>
  element("span", { class: `state tone-${kind}` }, mark(kind), element("span", {}, words));

export const button = (words, onclick, kind = "") =>
  element("button", { class: `button ${kind}`.trim(), type: "button", onclick }, words);

export const plural = (count, one, many) => `${count} ${count === 1 ? one : many}`;

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const two = (number) => String(number).padStart(2, "0");

/*
 * The moment as the workshop computer writes it: 25 Nov, 10:02. By hand, since a cheap tablet thinks for a quarter of a
 * second before its first Intl.DateTimeFormat, and that is the first tick of the day.
 */
export const moment = (iso) => {
  const at = new Date(iso);
  return `${at.getDate()} ${MONTHS[at.getMonth()]}, ${two(at.getHours())}:${two(at.getMinutes())}`;
};

/* randomUUID exists on https and localhost only; the queue works without them, so ids must too. */
export const newId = () => {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
};
